/**
 * Slots of the tables, small ones first: 1,024 of 16 bytes stay in the fastest cache, and most sensors need no more. Every
 * column starts in the smallest; one that outgrows a table moves to the next.
 */
const TABLE_SLOTS = [1_024, 4_096, 16_384, 65_536] as const;
/** Key, index, generation and padding of a slot lie side by side, so that a look-up touches one cache line. */
const SLOT_WORDS = 4;

/**
 * Finds the distinct values of a float column: quantised sensors have few, so a column becomes small indexes.
 * Open addressing on the value's bits; slots are marked with a generation instead of being cleared for every column.
 */
export class FloatDictionary {
  /** More distinct values than this and plain bytes are cheaper than indexes. */
  static readonly LIMIT = 16_384;
  private readonly tables: Int32Array[] = [];
  private table = 0;
  private slots = this.open(0);
  private mask = TABLE_SLOTS[0] - 1;
  private generation = 0;
  /** Bits of the distinct values, in order of first sight. */
  readonly distinct = new Int32Array(FloatDictionary.LIMIT);
  size = 0;

  /**
   * Fills `indexes` for the non-NaN values, densely, and `levels` (1 = value, 0 = null) for all rows.
   * @returns number of values, or -1 when there are too many distinct ones (`levels` is complete all the same)
   */
  index(values: Float32Array, count: number, indexes: Int32Array, levels: Uint8Array): number {
    const bits = new Int32Array(values.buffer, values.byteOffset, count);
    this.generation++;
    this.size = 0;
    this.use(0);
    levels.fill(1, 0, count);
    let written = 0;
    let lastBits = 0;
    let lastIndex = -1;
    for (let row = 0; row < count; row++) {
      const key = bits[row] as number;
      if (key === lastBits && lastIndex >= 0) {
        indexes[written++] = lastIndex;
        continue;
      }
      // Exponent all ones: NaN (there is no infinity among signals), so no float has to be loaded to see it.
      if ((key & 0x7f800000) === 0x7f800000 && Number.isNaN(values[row] as number)) {
        levels[row] = 0;
        continue;
      }
      lastIndex = this.find(key);
      if (lastIndex < 0) return this.overflow(values, row, count, levels);
      lastBits = key;
      indexes[written++] = lastIndex;
    }
    return written;
  }

  /** Index of a value, new or known; -1 when there is no room for another. */
  private find(key: number): number {
    const { slots, mask, generation } = this;
    let slot = Math.imul(key, 0x9e3779b1) >>> 12;
    for (;;) {
      const at = (slot & mask) * SLOT_WORDS;
      if (slots[at + 2] !== generation) return this.insert(at, key);
      if (slots[at] === key) return slots[at + 1] as number;
      slot++;
    }
  }

  private insert(at: number, key: number): number {
    if (this.size === FloatDictionary.LIMIT) return -1;
    const index = this.size++;
    this.distinct[index] = key;
    this.slots[at] = key;
    this.slots[at + 1] = index;
    this.slots[at + 2] = this.generation;
    if (this.size * 2 > this.mask && this.table + 1 < TABLE_SLOTS.length) this.grow();
    return index;
  }

  private grow(): void {
    this.use(this.table + 1);
    for (let index = 0; index < this.size; index++) {
      const key = this.distinct[index] as number;
      let slot = Math.imul(key, 0x9e3779b1) >>> 12;
      while (this.slots[(slot & this.mask) * SLOT_WORDS + 2] === this.generation) slot++;
      const at = (slot & this.mask) * SLOT_WORDS;
      this.slots[at] = key;
      this.slots[at + 1] = index;
      this.slots[at + 2] = this.generation;
    }
  }

  private use(table: number): void {
    this.table = table;
    this.slots = this.open(table);
    this.mask = (TABLE_SLOTS[table] as number) - 1;
  }

  private open(table: number): Int32Array {
    this.tables[table] ??= new Int32Array((TABLE_SLOTS[table] as number) * SLOT_WORDS);
    return this.tables[table];
  }

  private overflow(values: Float32Array, from: number, count: number, levels: Uint8Array): number {
    for (let row = from; row < count; row++) levels[row] = Number.isNaN(values[row]!) ? 0 : 1;
    return -1;
  }
}
