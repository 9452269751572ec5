import { metricsTextOf, type PipelineState, uploadStateSchema } from '@tallybay/contracts';

interface Sample {
  labels?: Record<string, string>;
  value: number | bigint;
}

/** How far the path is, as Prometheus reads it (text exposition format 0.0.4). Gauges, but for what is counted since the start. */
export function metricsText(
  pipeline: PipelineState,
  process: { ready: boolean; role: string; residentBytes: number },
  refusals: ReadonlyMap<string, number> = new Map(),
): string {
  const behind = pipeline.partitions.map(({ topic, partition, committed, end }) => ({
    labels: { topic, partition: String(partition) },
    value: BigInt(end) - BigInt(committed),
  }));
  const byState = uploadStateSchema.options.map((state) => ({
    labels: { state },
    value: pipeline.uploads[state] ?? 0,
  }));
  return [
    family('tallybay_uploads', 'Uploads by state.', byState),
    family('tallybay_stream_lag_messages', 'Messages that no decode worker has finished with.', behind),
    family('tallybay_ready', 'Whether this process is ready.', [
      { labels: { role: process.role }, value: process.ready ? 1 : 0 },
    ]),
    refusalText(refusals),
    family('process_resident_memory_bytes', 'Resident memory of this process.', [{ value: process.residentBytes }]),
  ].join('');
}

const refusalText = (refusals: ReadonlyMap<string, number>): string =>
  metricsTextOf([
    {
      ...{ name: 'tallybay_refusals_total', help: 'Requests that were refused or failed, by code.', type: 'counter' },
      samples: [...refusals].map(([code, value]) => ({ labels: { code }, value })),
    },
  ]);

function family(name: string, help: string, samples: Sample[]): string {
  const lines = samples.map(({ labels, value }) => `${name}${labelText(labels)} ${value}\n`);
  return `# HELP ${name} ${help}\n# TYPE ${name} gauge\n${lines.join('')}`;
}

function labelText(labels: Record<string, string> | undefined): string {
  if (!labels) return '';
  const pairs = Object.entries(labels).map(([name, value]) => `${name}="${value.replace(/[\\"]/g, '\\$&')}"`);
  return `{${pairs.join(',')}}`;
}
