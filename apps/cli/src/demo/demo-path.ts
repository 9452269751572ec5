import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { type Ranking, rankingSchema, TallybayError } from '@tallybay/contracts';
import { z } from 'zod';
import { importFleet, readFleet } from '../fleet/fleet.command.js';
import { ServiceClient } from '../service/client.js';
import { DEFAULT_RETRY } from '../service/retry.js';
import type { Terminal } from '../terminal.js';
import { collectFiles } from '../upload/collect.js';
import { Journal } from '../upload/journal.js';
import { UploadScreen } from '../upload/upload-screen.js';
import { Uploader, type UploadItem, type UploadResult } from '../upload/uploader.js';
import { datesFromToday } from './demo-dates.js';
import type { DemoFleet } from './demo-fleet.js';

const pipelineSchema = z.object({ uploads: z.record(z.string(), z.number()) });
const UNDER_WAY = ['landed', 'queued', 'decoding'];
/** Nothing moved for this long: something is wrong, and waiting would hide it. */
const STALL_MS = 180_000;

/** The steps of the path, as a person would take them at the terminal. */
export class DemoPath {
  readonly client: ServiceClient;

  constructor(
    private readonly urls: { api: string; ingest: string },
    private readonly fleet: DemoFleet,
    private readonly terminal: Terminal,
  ) {
    this.client = ServiceClient.of(urls.api, terminal.signal);
  }

  async register(): Promise<void> {
    await importFleet(this.client, await readFleet(join(this.fleet.directory, 'fleet.json')));
  }

  /**
   * Lets due dates follow today, so that there is something to plan on whatever day the demo runs. After ranking: the weeks
   * were judged by the dates that were known in them.
   */
  async moveDates(nowMs: number): Promise<void> {
    const fleet = await readFleet(join(this.fleet.directory, 'fleet.json'));
    await importFleet(this.client, datesFromToday(fleet, this.fleet.weeks.at(-1)!, nowMs));
  }

  /** Everything that the recorders wrote, in the order in which their senders got to it. */
  async upload(stateDirectory: string): Promise<UploadResult[]> {
    const items = await this.items();
    const uploader = new Uploader({
      client: this.client,
      journal: await Journal.open(stateDirectory, this.urls.api),
      retry: DEFAULT_RETRY,
      parallel: 2,
      signal: this.terminal.signal,
      now: () => new Date(),
    });
    // What waits is shown at the end, with what it needs.
    const screen = new UploadScreen(this.terminal, items, ({ outcome }) =>
      ['sent', 'there', 'waits'].includes(outcome),
    );
    return uploader.upload(items, screen).finally(() => screen.stop());
  }

  /** Resolves when every upload is stored, waiting or failed; gives the number of uploads by state. */
  async settle(): Promise<Record<string, number>> {
    const ingest = ServiceClient.of(this.urls.ingest, this.terminal.signal);
    try {
      let last = '';
      let movedAt = Date.now();
      for (;;) {
        const { uploads } = await ingest.json({ method: 'GET', path: '/v1/pipeline' }, pipelineSchema);
        if (UNDER_WAY.every((state) => !uploads[state])) return uploads;
        const now = JSON.stringify(uploads);
        if (now !== last) movedAt = Date.now();
        else if (Date.now() - movedAt > STALL_MS)
          throw new TallybayError('internal', `nothing was decoded for ${STALL_MS / 1000} s: ${now}`);
        last = now;
        await wait(250, undefined, { signal: this.terminal.signal });
      }
    } finally {
      ingest.close();
    }
  }

  /** Ranks every week of the fleet in order, so that each knows the one before. */
  async rank(): Promise<Ranking[]> {
    const rankings: Ranking[] = [];
    for (const week of this.fleet.weeks)
      rankings.push(await this.client.json({ method: 'POST', path: `/v1/rankings/${week}` }, rankingSchema));
    return rankings;
  }

  private async items(): Promise<UploadItem[]> {
    const { directory, logs, snapshots } = this.fleet;
    const entries = [
      ...logs.map((log) => ({ file: log.file, at: log.sentAt, parameters: log.send })),
      ...snapshots.map((snapshot) => ({ file: snapshot.file, at: snapshot.at, parameters: {} })),
    ].sort((left, right) => left.at.localeCompare(right.at));
    const files = await collectFiles(
      entries.map((entry) => entry.file),
      directory,
    );
    const byPath = new Map(files.map((file) => [file.path, file]));
    return entries.map(({ file, parameters }) => {
      const found = byPath.get(join(directory, file));
      if (!found)
        throw new TallybayError('file_unreadable', `${file} is in the fleet's manifest but not in its folder`);
      return { file: found, label: file, parameters };
    });
  }
}
