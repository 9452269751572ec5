/** One metric of a process as Prometheus reads it. */
export interface MetricFamily {
  name: string;
  help: string;
  type: 'gauge' | 'counter';
  samples: readonly { labels?: Readonly<Record<string, string>>; value: number | bigint }[];
}

export const METRICS_TYPE = 'text/plain; version=0.0.4; charset=utf-8';

/** Prometheus' text exposition format 0.0.4. A family without samples still says what it is. */
export const metricsTextOf = (families: readonly MetricFamily[]): string => families.map(familyText).join('');

function familyText({ name, help, type, samples }: MetricFamily): string {
  const lines = samples.map(({ labels, value }) => `${name}${labelText(labels)} ${value}\n`);
  return `# HELP ${name} ${help}\n# TYPE ${name} ${type}\n${lines.join('')}`;
}

function labelText(labels: Readonly<Record<string, string>> | undefined): string {
  if (!labels || Object.keys(labels).length === 0) return '';
  const escaped = (text: string) => text.replace(/[\\"]/g, '\\$&').replaceAll('\n', '\\n');
  return `{${Object.entries(labels)
    .map(([name, value]) => `${name}="${escaped(value)}"`)
    .join(',')}}`;
}
