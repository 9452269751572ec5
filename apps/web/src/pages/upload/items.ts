import { signal } from '@preact/signals';
import type { Profile } from '@tallybay/contracts';
import { problemOf } from '../../data/http.js';
import type { SaidProblem } from '../../data/problem-words.js';
import { t } from '../../text/text.js';
import type { PickedFile } from './dropped-files.js';
import { PIECE_BYTES, sendInPieces } from './pieces.js';
import { NOT_SNAPSHOT, type Preview } from './preview.js';
import { previewOf } from './preview-client.js';
import { isThere, type Parcel, send } from './transfer.js';

export type ItemState = keyof typeof t.upload.states;

export interface Item {
  id: number;
  file: File;
  path: string;
  state: ItemState;
  /** 0..1 while reading or sending. */
  share: number;
  preview: Preview | null;
  problem: SaidProblem | null;
  /** Corrections of the mapping that are not saved yet. */
  channels: NonNullable<Profile['channels']>;
}

/** What the person says about everything that is dropped; empty = the logs say it themselves. */
export interface Said {
  vehicle: string;
  recorder: string;
  timeZone: string;
  /** As the browser's field writes it, in its own zone; '' = not said. */
  recordedAt: string;
}

export const items = signal<readonly Item[]>([]);
export const said = signal<Said>({ vehicle: '', recorder: '', timeZone: '', recordedAt: '' });
export const profiles = signal<readonly Profile[]>([]);

const PARALLEL = 2;
let lastId = 0;

export function addFiles(picked: readonly PickedFile[]): void {
  const fresh = picked.map(({ file, path }) => ({
    ...{ id: ++lastId, file, path, state: 'reading' as const, share: 0 },
    ...{ preview: null, problem: null, channels: {} },
  }));
  items.value = [...items.peek(), ...fresh];
  for (const item of fresh) void look(item.id);
}

/** Reads the file (again) with what is said and corrected now. */
export async function look(id: number): Promise<void> {
  const item = itemOf(id);
  if (!item) return;
  patch(id, { state: 'reading', share: 0 });
  const { recorder, timeZone, recordedAt } = said.peek();
  const preview = await previewOf(
    {
      ...{ file: item.file, name: item.file.name, recorder: recorder || null, channels: item.channels },
      profiles: profiles.peek(),
      hints: { ...(timeZone && { timeZone }), ...(recordedAt && { recordedAtMs: Date.parse(recordedAt) }) },
      nowMs: Date.now(),
    },
    (share) => patch(id, { share }),
  );
  if (preview.kind === 'refused') patch(id, { state: 'refused', preview, problem: worded(preview.problem) });
  else patch(id, { state: 'ready', preview, problem: null, share: 0 });
}

export const lookAgainAtAll = (): void => {
  for (const { id, state } of items.peek()) if (state === 'ready' || state === 'refused') void look(id);
};

export function correct(id: number, channels: Item['channels']): void {
  patch(id, { channels });
  void look(id);
}

export async function sendAll(): Promise<void> {
  const waiting = items.peek().filter(({ state }) => state === 'ready' || state === 'failed');
  const next = async (): Promise<void> => {
    for (let item = waiting.shift(); item; item = waiting.shift()) await sendOne(item.id);
  };
  await Promise.all(Array.from({ length: PARALLEL }, next));
}

export async function sendOne(id: number): Promise<void> {
  const item = itemOf(id);
  if (!item?.preview || item.preview.kind === 'refused') return;
  patch(id, { state: 'checking', share: 0, problem: null });
  try {
    patch(id, { state: await deliver(item, parcelsOf(item, item.preview)), share: 1 });
  } catch (thrown) {
    patch(id, { state: 'failed', problem: problemOf(thrown) });
  }
}

/** What the server has is not sent again, so a folder can be dropped again after a cut. */
async function deliver(item: Item, parcels: readonly Parcel[]): Promise<ItemState> {
  let outcome: ItemState = 'there';
  for (const [index, parcel] of parcels.entries()) {
    if (await isThere(parcel.sha256)) continue;
    patch(item.id, { state: 'sending' });
    const onProgress = (share: number) => patch(item.id, { state: 'sending', share: (index + share) / parcels.length });
    const receipt = await (parcel.path === '/v1/logs' && parcel.body.size > PIECE_BYTES
      ? sendInPieces(parcel, { onProgress, onRest: () => patch(item.id, { state: 'resting' }) })
      : send(parcel, onProgress));
    if (receipt.state === 'waiting') outcome = 'waits';
    else if (!receipt.duplicate && outcome !== 'waits') outcome = 'sent';
  }
  return outcome;
}

function parcelsOf(item: Item, preview: Exclude<Preview, { kind: 'refused' }>): Parcel[] {
  if (preview.kind === 'snapshot')
    return preview.bodies.map(({ text, sha256 }) => ({
      ...{ path: '/v1/snapshots' as const, sha256, sentSha256: sha256, parameters: {} },
      body: new Blob([text], { type: 'application/json' }),
    }));
  const { vehicle, recorder, timeZone, recordedAt } = said.peek();
  const parameters = {
    ...{ fileName: item.file.name.replace(/\.gz$/i, '').slice(-255), vehicle, recorder, timeZone },
    recordedAt: recordedAt && new Date(recordedAt).toISOString(),
  };
  const { sha256, sentSha256 } = preview;
  return [{ path: '/v1/logs', body: item.file, sha256, sentSha256, parameters }];
}

const worded = (problem: SaidProblem): SaidProblem =>
  problem.detail === NOT_SNAPSHOT.detail
    ? { detail: t.upload.notSnapshot, advice: t.upload.notSnapshotAdvice }
    : problem.advice === 'unreadable'
      ? { detail: problem.detail, advice: t.upload.unreadableAdvice }
      : problem;

const itemOf = (id: number): Item | undefined => items.peek().find((item) => item.id === id);

export function patch(id: number, change: Partial<Item>): void {
  items.value = items.peek().map((item) => (item.id === id ? { ...item, ...change } : item));
}
