import { type SnapshotInput, snapshotSchema, TallybayError, type UploadReceipt } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import { identifyVehicle } from './identify.js';
import type { KnownUploads } from './known-upload.js';
import type { LandingStore } from './landing.js';
import type { Publisher } from './publisher.js';
import { receiptOf, uploadIdOf } from './receipt.js';

/** A snapshot's way in: checked against the contract, landed as it came, vehicle settled or waiting, on the stream. */
export class SnapshotReceiver {
  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly publisher: Publisher,
    private readonly known: KnownUploads,
    private readonly nowMs: () => number,
  ) {}

  /** @throws TallybayError `snapshot_malformed` with the field, `landing_unwritable`, `stream_unavailable` */
  async receive(body: Buffer, fileName: string | null): Promise<UploadReceipt> {
    const snapshot = parseSnapshot(body);
    const draft = await this.landing.begin();
    try {
      draft.digest(body);
      await draft.add(body);
      await draft.written();
      const sha256 = draft.sha256;
      const id = uploadIdOf(sha256);
      const known = await this.registry.uploads.get(id);
      if (known) return receiptOf(await this.known.settle(known, draft), true);
      const { name } = await this.landing.keep(draft, id);
      const time = new Date(snapshot.time).toISOString();
      const identified = await identifyVehicle(this.registry, {
        named: snapshot.vehicle ?? null,
        vin: snapshot.vin ?? null,
        recorder: snapshot.recorder ?? null,
        atMs: Date.parse(time),
      });
      const { inserted, row } = await this.registry.uploads.insertIfAbsent({
        id,
        kind: 'snapshot',
        state: identified.problem ? 'waiting' : 'landed',
        vehicle: identified.vehicle,
        recorder: snapshot.recorder ?? null,
        fileName,
        bytes: body.length,
        sha256,
        receivedAt: new Date(this.nowMs()).toISOString(),
        firstTime: time,
        lastTime: time,
        progress: { chunks: 1, decoded: 0 },
        decisions: identified.decisions,
        problem: identified.problem,
        landingFile: name,
        plan: { vin: snapshot.vin ?? null },
      });
      if (!inserted) {
        if (row.state === 'landed') await this.known.ensureSent(row);
        return receiptOf((await this.registry.uploads.get(id)) ?? row, true);
      }
      if (row.state === 'landed') await this.publisher.publish(row);
      return receiptOf((await this.registry.uploads.get(id)) ?? row, false);
    } catch (error) {
      await draft.discard();
      throw error;
    }
  }
}

/** @throws TallybayError `body_empty`, `snapshot_malformed` naming the field */
export function parseSnapshot(body: Buffer): SnapshotInput {
  if (body.length === 0) throw new TallybayError('body_empty', 'The snapshot has no bytes');
  let json: unknown;
  try {
    json = JSON.parse(body.toString('utf8'));
  } catch (error) {
    throw new TallybayError('snapshot_malformed', `The body is not JSON: ${(error as Error).message}`, {
      advice: 'Send one JSON object as described at /openapi.json.',
      cause: error,
    });
  }
  const parsed = snapshotSchema.safeParse(json);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0]!;
  const field = issue.path.join('.');
  throw new TallybayError('snapshot_malformed', `${field || 'the snapshot'}: ${issue.message}`, {
    advice: 'Correct the field and send the snapshot again; nothing was stored.',
    place: { ...(field ? { field } : {}) },
  });
}
