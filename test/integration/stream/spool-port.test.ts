import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { describePort } from './port-contract.js';

const directories: string[] = [];

describePort('the spool', async (topics) => {
  const directory = await mkdtemp(join(tmpdir(), 'tallybay-spool-'));
  directories.push(directory);
  return { kind: 'spool', directory, topics, partitions: 4, segmentBytes: 64 * 1024 };
});

afterAll(async () => {
  await Promise.all(directories.map((directory) => rm(directory, { recursive: true })));
});
