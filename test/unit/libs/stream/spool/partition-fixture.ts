import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { streamParts } from '@tallybay/stream';
import { onTestFinished } from 'vitest';

const { Appender, PartitionReader, encodeBody, readDurableEnd } = streamParts;

/** A partition directory of its own, removed after the test. */
export async function partitionDirectory(): Promise<string> {
  const directory = await mkdtemp(join(tmpdir(), 'tallybay-partition-'));
  onTestFinished(() => rm(directory, { recursive: true }));
  return directory;
}

export interface OpenPartition {
  appender: streamParts.Appender;
  problems: unknown[];
  append(...texts: string[]): Promise<void>;
}

export function openPartition(directory: string, segmentBytes = 1024 * 1024): OpenPartition {
  const problems: unknown[] = [];
  const appender = new Appender(directory, {
    segmentBytes,
    onAdvanced: () => {},
    onProblem: (error) => problems.push(error),
  });
  onTestFinished(() => appender.close());
  const append = (...texts: string[]) =>
    appender.append(texts.map((text) => encodeBody({ key: 'k', value: Buffer.from(text), headers: {} })));
  return { appender, problems, append };
}

export interface ReadOptions {
  from?: bigint;
  onCorrupt?: 'halt' | 'skip';
  maxBytes?: number;
  maxMessages?: number;
}

/** Everything readable, as `offset:text`, and what was reported on the way. */
export async function readAll(directory: string, options: ReadOptions = {}) {
  const problems: Error[] = [];
  const reader = new PartitionReader(
    {
      directory,
      topic: 't',
      partition: 0,
      onCorrupt: options.onCorrupt ?? 'halt',
      onProblem: (error) => problems.push(error as Error),
      durableEnd: () => readDurableEnd(directory),
    },
    options.from ?? 0n,
  );
  const texts: string[] = [];
  try {
    for (;;) {
      const messages = await reader.read(options.maxBytes ?? 1024 * 1024, options.maxMessages ?? 1000);
      if (messages.length === 0) return { texts, problems };
      for (const { offset, value } of messages) texts.push(`${offset}:${Buffer.from(value)}`);
    }
  } finally {
    await reader.close();
  }
}

export async function segmentsOf(directory: string): Promise<string[]> {
  return (await readdir(directory)).filter((name) => name.endsWith('.seg')).sort();
}

/** The bytes of the newest segment and its path. */
export async function newestSegment(directory: string): Promise<{ path: string; bytes: Buffer }> {
  const path = join(directory, (await segmentsOf(directory)).at(-1)!);
  return { path, bytes: await readFile(path) };
}
