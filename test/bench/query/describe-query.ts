import type { QueryBenchResult, StatementFigures } from './query-bench.js';

/** Aims of the service: overhead for queries of over a second, Arrow's speed, what ingest keeps beside analysts. */
export const AIMS = { overhead: 1.1, arrowMegabytesPerSecond: 100, ingestKept: 0.7 } as const;

const verdict = (isMet: boolean): string => (isMet ? 'met' : 'MISSED');

export function isQueryMet({ heavy, arrow, ingest }: QueryBenchResult): boolean {
  return (
    heavy.every(({ ratio }) => ratio < AIMS.overhead) &&
    arrow.every(({ megabytesPerSecond }) => megabytesPerSecond >= AIMS.arrowMegabytesPerSecond) &&
    ingest.ratio >= AIMS.ingestKept &&
    ingest.analysts.every(({ errors, torn }) => errors.length + torn.length === 0)
  );
}

export function describeQuery(result: QueryBenchResult): string {
  const { options, cores, heavy, arrow, ingest } = result;
  const rates = (values: readonly number[]) => values.map((value) => (value / 1000).toFixed(0)).join(', ');
  const count = (pick: 'errors' | 'torn') => ingest.analysts.reduce((sum, figures) => sum + figures[pick].length, 0);
  const answered = ingest.analysts.map((figures) => figures.answered).join(', ');
  const { median, p95, longest } = ingest.analysts.at(-1)!.seconds;
  return [
    `${options.logs} logs of ${options.rows} rows x 60 channels in the lake, ${cores} cores, medians of ${options.repeats}`,
    `through the service against DuckDB by hand, aim below ${AIMS.overhead}:`,
    ...heavy.map((figures) => `  ${side(figures)}  ${verdict(figures.ratio < AIMS.overhead)}`),
    `Arrow, aim ${AIMS.arrowMegabytesPerSecond} MB/s; by hand rows are fetched and dropped:`,
    ...arrow.map((figures) => {
      const speed = `${figures.megabytesPerSecond.toFixed(0).padStart(5)} MB/s of ${(figures.bytes / 1e6).toFixed(0)} MB`;
      return `  ${side(figures)}  ${speed}  ${verdict(figures.megabytesPerSecond >= AIMS.arrowMegabytesPerSecond)}`;
    }),
    `ingest of ${options.more} logs, thousand rows/s: alone ${rates(ingest.alone)}; beside ${options.people} analysts ${rates(ingest.beside)}`,
    `  ratio ${ingest.ratio.toFixed(2)}, aim ${AIMS.ingestKept}: ${verdict(ingest.ratio >= AIMS.ingestKept)}; ${answered} answers, ` +
      `${count('errors')} errors, ${count('torn')} torn; last turn ${median.toFixed(1)} s median, ${p95.toFixed(1)} s p95, ${longest.toFixed(1)} s longest`,
    ...ingest.analysts.flatMap(({ errors, torn }) => [...errors, ...torn].slice(0, 5).map((line) => `  ${line}`)),
    '',
  ].join('\n');
}

function side({ name, ours, byHand, ratio, cpuRatio }: StatementFigures): string {
  const cpu = cpuRatio === null ? '' : `, CPU ${cpuRatio.toFixed(2)}`;
  return `${name.padEnd(9)} ${ours.toFixed(2).padStart(6)} s, by hand ${byHand.toFixed(2).padStart(6)} s, ratio ${ratio.toFixed(2)}${cpu}`;
}
