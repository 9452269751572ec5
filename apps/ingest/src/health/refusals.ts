/** What was refused or went wrong over HTTP since the start, by the problem's code. */
export class Refusals {
  private readonly counts = new Map<string, number>();

  count(code: string): void {
    this.counts.set(code, (this.counts.get(code) ?? 0) + 1);
  }

  get all(): ReadonlyMap<string, number> {
    return this.counts;
  }
}
