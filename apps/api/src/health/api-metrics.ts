import { stat } from 'node:fs/promises';
import { join } from 'node:path';
import { type MetricFamily, metricsTextOf } from '@tallybay/contracts';
import { listRankings, rankingsDirectory } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import type { QueryService } from '../query/query-service.js';
import type { Readiness } from './readiness.js';
import type { RequestCounter } from './request-counter.js';

export interface MetricSources {
  registry: Registry;
  lakeDirectory: string;
  queries: QueryService;
  readiness: Readiness;
  requests: RequestCounter;
  nowMs: () => number;
}

/** How the api, its weekly job and the analysts' processes are doing. */
export async function apiMetrics(sources: MetricSources): Promise<string> {
  const { ready } = await sources.readiness.report();
  const stored = await sources.registry.uploads.storedTotals();
  return metricsTextOf([
    gauge('tallybay_api_ready', 'Whether the api is ready.', ready ? 1 : 0),
    gauge('tallybay_stored_uploads', 'Uploads whose rows are in the lake.', stored.uploads),
    gauge('tallybay_stored_upload_bytes', 'Bytes as sent of those uploads.', stored.bytes),
    ...(await rankingFamilies(sources)),
    ...queryFamilies(sources),
    ...requestFamilies(sources.requests),
    gauge('process_resident_memory_bytes', 'Resident memory of this process.', process.memoryUsage.rss()),
  ]);
}

const gauge = (name: string, help: string, value: number): MetricFamily => ({
  ...{ name, help, type: 'gauge', samples: [{ value }] },
});

/** Without a ranking there is no age: the family is there without a sample. */
async function rankingFamilies({ lakeDirectory, nowMs }: MetricSources): Promise<MetricFamily[]> {
  const published = await listRankings(lakeDirectory);
  const files = published.map(({ week, revision }) =>
    join(rankingsDirectory(lakeDirectory), `${week}-r${revision}.json`),
  );
  const times = await Promise.all(files.slice(0, 20).map((file) => stat(file).then(({ mtimeMs }) => mtimeMs)));
  const newest = times.length === 0 ? null : Math.max(...times);
  return [
    gauge('tallybay_published_rankings', 'Rankings that are kept, revisions counted.', published.length),
    {
      ...{ name: 'tallybay_ranking_age_seconds', help: 'Time since a ranking was last published.', type: 'gauge' },
      samples: newest === null ? [] : [{ value: Math.max(0, (nowMs() - newest) / 1000) }],
    },
  ];
}

function queryFamilies({ queries, nowMs }: MetricSources): MetricFamily[] {
  const { done, failed, cancelled, seconds, bytes } = queries.runs.totals;
  const { running, waiting, idle } = queries.counts;
  const states = (values: Record<string, number>) =>
    Object.entries(values).map(([state, value]) => ({ labels: { state }, value }));
  const asOf = queries.reference.asOfMs;
  return [
    {
      ...{
        name: 'tallybay_queries_total',
        help: "Analysts' queries that are over, by how they ended.",
        type: 'counter',
      },
      samples: states({ done, failed, cancelled }),
    },
    {
      ...{ name: 'tallybay_query_seconds_total', help: 'Time that they took.', type: 'counter' },
      samples: [{ value: seconds }],
    },
    {
      ...{ name: 'tallybay_query_bytes_total', help: 'Bytes of their answers.', type: 'counter' },
      samples: [{ value: bytes }],
    },
    {
      ...{
        name: 'tallybay_query_seats',
        help: 'Queries that run or wait, and processes that are warm.',
        type: 'gauge',
      },
      samples: states({ running, waiting, warm: idle }),
    },
    {
      ...{ name: 'tallybay_reference_age_seconds', help: 'Age of the registry copy that SQL sees.', type: 'gauge' },
      samples: asOf === null ? [] : [{ value: Math.max(0, (nowMs() - asOf) / 1000) }],
    },
  ];
}

function requestFamilies(requests: RequestCounter): MetricFamily[] {
  const counts = requests.all;
  return [
    {
      ...{ name: 'tallybay_http_requests_total', help: 'Requests by route and status.', type: 'counter' },
      samples: counts.map(({ labels, requests: value }) => ({ labels, value })),
    },
    {
      ...{ name: 'tallybay_http_request_seconds_total', help: 'Time spent on them.', type: 'counter' },
      samples: counts.map(({ labels, seconds: value }) => ({ labels, value })),
    },
  ];
}
