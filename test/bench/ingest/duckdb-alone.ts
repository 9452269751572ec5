import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import type { ChannelPlan, LogPlan } from '@tallybay/decode';

/**
 * The peer: DuckDB alone, per file `COPY (SELECT … conversions … FROM read_csv(…, types given)) TO … zstd`, two files at
 * a time on all cores. Run as a process of its own with a job on the command line; prints seconds, CPU and peak memory.
 */
export interface DuckDbJob {
  input: string;
  output: string;
  plan: LogPlan;
  filesAtOnce: number;
}

const quoted = (text: string) => `'${text.replaceAll("'", "''")}'`;
const named = (text: string) => `"${text.replaceAll('"', '""')}"`;

export function copySql(file: string, target: string, plan: LogPlan): string {
  const types = plan.channels.map((channel, i) => `${quoted(`c${i}`)}: ${quoted(columnType(channel))}`).join(', ');
  const select = plan.channels.map((channel, i) => columnSql(channel, `c${i}`)).join(', ');
  return `COPY (SELECT ${select} FROM read_csv(${quoted(file)}, header = true, auto_detect = false, delim = ',', columns = {${types}}))
    TO ${quoted(target)} (FORMAT parquet, COMPRESSION zstd)`;
}

const columnType = (channel: ChannelPlan): string =>
  channel.role === 'time' ? 'TIMESTAMPTZ' : channel.signal ? 'DOUBLE' : 'VARCHAR';

function columnSql(channel: ChannelPlan, column: string): string {
  if (channel.role === 'time') return `${column} AS time`;
  if (!channel.signal) return `${column} AS ${named(channel.header)}`;
  const converted =
    channel.scale === 1 && channel.offset === 0 ? column : `${column} * ${channel.scale} + ${channel.offset}`;
  return `(${converted})::FLOAT AS ${named(channel.signal)}`;
}

async function main(job: DuckDbJob): Promise<void> {
  const instance = await DuckDBInstance.create(':memory:');
  const files = readdirSync(job.input)
    .filter((name) => name.endsWith('.csv'))
    .sort();
  const start = performance.now();
  const cpuStart = process.cpuUsage();
  const lanes = Array.from({ length: job.filesAtOnce }, async () => {
    const connection = await instance.connect();
    await connection.run("SET TimeZone = 'UTC'");
    for (let name = files.shift(); name !== undefined; name = files.shift())
      await connection.run(copySql(join(job.input, name), join(job.output, `${name}.parquet`), job.plan));
    connection.closeSync();
  });
  await Promise.all(lanes);
  const cpu = process.cpuUsage(cpuStart);
  process.stdout.write(
    JSON.stringify({
      seconds: (performance.now() - start) / 1000,
      cpuSeconds: (cpu.user + cpu.system) / 1e6,
      peakBytes: process.resourceUsage().maxRSS * 1024,
    }),
  );
}

if (process.argv[2] === '--job') await main(JSON.parse(process.argv[3]!) as DuckDbJob);
