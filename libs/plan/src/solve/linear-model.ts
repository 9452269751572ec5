import type { ModelData, VariableType } from 'highs';

type Entry = readonly [column: number, value: number];

/** A linear model that is written row by row; columns first. Minimises. */
export class LinearModel {
  private readonly cost: number[] = [];
  private readonly lower: number[] = [];
  private readonly upper: number[] = [];
  private readonly whole: boolean[] = [];
  private readonly rows: { lower: number; upper: number; entries: readonly Entry[] }[] = [];

  constructor(private readonly infinity: number) {}

  get columns(): number {
    return this.cost.length;
  }

  get rowCount(): number {
    return this.rows.length;
  }

  /** @returns the column's number */
  column(cost: number, upper: number, whole: boolean): number {
    this.cost.push(cost);
    this.lower.push(0);
    this.upper.push(upper);
    this.whole.push(whole);
    return this.cost.length - 1;
  }

  equal(value: number, entries: readonly Entry[]): void {
    this.rows.push({ lower: value, upper: value, entries });
  }

  atMost(value: number, entries: readonly Entry[]): void {
    if (entries.length > 0) this.rows.push({ lower: -this.infinity, upper: value, entries });
  }

  /** @param relaxed leaves out that columns are whole, of all or of those that are not asked for */
  data(relaxed: boolean, keepWhole: (column: number) => boolean = () => true): ModelData {
    const starts = new Int32Array(this.rows.length + 1);
    for (const [index, row] of this.rows.entries()) starts[index + 1] = starts[index]! + row.entries.length;
    const indices = new Int32Array(starts.at(-1)!);
    const values = new Float64Array(starts.at(-1)!);
    let at = 0;
    for (const { entries } of this.rows)
      for (const [column, value] of entries) {
        indices[at] = column;
        values[at] = value;
        at += 1;
      }
    const whole = Int32Array.from(this.whole, (flag, column) => (flag && keepWhole(column) ? 1 : 0));
    return {
      numCols: this.cost.length,
      numRows: this.rows.length,
      colCost: Float64Array.from(this.cost),
      colLower: Float64Array.from(this.lower),
      colUpper: Float64Array.from(this.upper),
      rowLower: Float64Array.from(this.rows, (row) => row.lower),
      rowUpper: Float64Array.from(this.rows, (row) => row.upper),
      matrix: { format: 'csr', numRows: this.rows.length, numCols: this.cost.length, starts, indices, values },
      ...(relaxed ? {} : { integrality: whole as unknown as readonly VariableType[] }),
    };
  }
}
