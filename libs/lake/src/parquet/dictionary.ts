/**
 * Finds the distinct values of a float column: quantised sensors have few, so a column becomes small indexes.
 * Open addressing on the value's bits; slots are marked with a generation instead of being cleared for every column.
 */
export class FloatDictionary {
  /** More distinct values than this and plain bytes are cheaper than indexes. */
  static readonly LIMIT = 16_384;
  private static readonly SLOTS = 65_536;
  private readonly slotBits = new Int32Array(FloatDictionary.SLOTS);
  private readonly slotIndex = new Int32Array(FloatDictionary.SLOTS);
  private readonly slotGeneration = new Int32Array(FloatDictionary.SLOTS);
  private generation = 0;
  readonly distinct = new Int32Array(FloatDictionary.LIMIT);
  size = 0;

  /**
   * Fills `indexes` for the non-NaN values and `levels` (1 = value, 0 = null) for all rows.
   * @returns number of values, or -1 when there are too many distinct ones (`levels` is complete all the same)
   */
  index(values: Float32Array, count: number, indexes: Int32Array, levels: Uint8Array): number {
    const bits = new Int32Array(values.buffer, values.byteOffset, count);
    const mask = FloatDictionary.SLOTS - 1;
    const generation = ++this.generation;
    const { slotBits, slotIndex, slotGeneration, distinct } = this;
    let size = 0;
    let written = 0;
    let lastBits = 0;
    let lastIndex = -1;
    for (let row = 0; row < count; row++) {
      const value = values[row]!;
      if (Number.isNaN(value)) {
        levels[row] = 0;
        continue;
      }
      levels[row] = 1;
      const key = bits[row]!;
      if (key === lastBits && lastIndex >= 0) {
        indexes[written++] = lastIndex;
        continue;
      }
      let slot = (Math.imul(key, 0x9e3779b1) >>> 16) & mask;
      while (slotGeneration[slot] === generation && slotBits[slot] !== key) slot = (slot + 1) & mask;
      if (slotGeneration[slot] !== generation) {
        if (size === FloatDictionary.LIMIT) return this.overflow(values, row, count, levels);
        slotGeneration[slot] = generation;
        slotBits[slot] = key;
        slotIndex[slot] = size;
        distinct[size++] = key;
      }
      lastBits = key;
      lastIndex = slotIndex[slot]!;
      indexes[written++] = lastIndex;
    }
    this.size = size;
    return written;
  }

  private overflow(values: Float32Array, from: number, count: number, levels: Uint8Array): number {
    for (let row = from; row < count; row++) levels[row] = Number.isNaN(values[row]!) ? 0 : 1;
    return -1;
  }
}
