import { readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { type Adapter, agrees, type Vector, type VectorContext } from './check.js';
import { dtc, monitorStatus, pid, supportedPids } from './obd-adapters.js';
import { isoWeek, readiness, stats, thermal } from './risk-adapters.js';
import { csv, j1939, modelYearCodes, tyre, units, vin } from './vehicle-adapters.js';

/** `meta.json` says when and how the vectors were made; it holds no vector, but must hold that. */
const meta: Adapter = (vector) => [
  { name: 'says when and how', expected: ['string', 'string'], got: [typeof vector.generated, typeof vector.note] },
];

/** One row a topic; the topic is the file's name. A file without a row is a failure, never skipped. */
const TOPICS: Record<string, Adapter> = {
  pid,
  'monitor-status': monitorStatus,
  'supported-pids': supportedPids,
  dtc,
  j1939,
  vin,
  'model-year-codes': modelYearCodes,
  tyre,
  units,
  csv,
  'iso-week': isoWeek,
  readiness,
  thermal,
  stats,
  meta,
};

export interface VectorFailure {
  vector: number;
  name: string;
  expected: unknown;
  got: unknown;
  source: string | null;
}

export interface TopicResult {
  topic: string;
  passed: number;
  failed: number;
  failures: VectorFailure[];
}

export interface VectorsResult {
  topics: TopicResult[];
  passed: number;
  failed: number;
}

/** Runs every vector file of a folder. A vector passes if all its comparisons agree. */
export function runVectors(directory: string): VectorsResult {
  const files = readdirSync(directory)
    .filter((name) => name.endsWith('.json'))
    .sort();
  const context: VectorContext = { year: yearOf(directory, files) };
  const topics = files.map((file) => runTopic(basename(file, '.json'), join(directory, file), context));
  const sum = (key: 'passed' | 'failed'): number => topics.reduce((total, topic) => total + topic[key], 0);
  return { topics, passed: sum('passed'), failed: sum('failed') };
}

function yearOf(directory: string, files: string[]): number {
  if (!files.includes('meta.json')) return new Date().getUTCFullYear();
  const { generated } = JSON.parse(readFileSync(join(directory, 'meta.json'), 'utf8'));
  return Number.parseInt(String(generated), 10) || new Date().getUTCFullYear();
}

function runTopic(topic: string, path: string, context: VectorContext): TopicResult {
  const result: TopicResult = { topic, passed: 0, failed: 0, failures: [] };
  vectorsOf(topic, path, result).forEach((vector, index) => {
    const failures = failuresOf(topic, vector, context).map((failure) => ({ vector: index, ...failure }));
    result.failures.push(...failures);
    if (failures.length > 0) result.failed++;
    else result.passed++;
  });
  return result;
}

/** A list of vectors; an object of lists is taken as kinds; any other object is one vector. */
function vectorsOf(topic: string, path: string, result: TopicResult): Vector[] {
  try {
    const content = JSON.parse(readFileSync(path, 'utf8'));
    if (Array.isArray(content)) return content;
    const groups = Object.entries<Vector>(content);
    if (!groups.every(([, group]) => Array.isArray(group))) return [content];
    return groups.flatMap(([kind, group]) => group.map((vector: Vector) => ({ kind, ...vector })));
  } catch (error) {
    result.failed++;
    result.failures.push({ vector: 0, name: topic, expected: 'a JSON file', got: String(error), source: null });
    return [];
  }
}

function failuresOf(topic: string, vector: Vector, context: VectorContext): Omit<VectorFailure, 'vector'>[] {
  const source = typeof vector?.source === 'string' ? vector.source : null;
  const adapter = TOPICS[topic];
  if (!adapter) return [{ name: topic, expected: 'a check for this topic', got: 'none', source }];
  try {
    const checks = adapter(vector, context);
    if (checks.length === 0) return [{ name: topic, expected: 'at least one comparison', got: 'none', source }];
    return checks
      .filter((check) => !agrees(check))
      .map(({ name, expected, got }) => ({ name, expected, got: got === undefined ? null : got, source }));
  } catch (error) {
    const got = error instanceof Error ? error.message : String(error);
    return [{ name: JSON.stringify(vector).slice(0, 120), expected: vector?.expected ?? null, got, source }];
  }
}
