export interface Tally {
  passed: number;
  failed: number;
  /** What a reader of the sum should know: tests that did not run, files that could not. */
  notes: string[];
}
export interface Step extends Tally {
  name: string;
  seconds: number;
}
export function tallyReport(report: object | null, exitCode: number | null): Tally;
export function tallyCheck(exitCode: number | null): Tally;
export function summaryLines(steps: Step[]): string[];
