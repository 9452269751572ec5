import { type Release, TallybayError, type UploadState } from '@tallybay/contracts';
import { type LogPlan, timeNeed, withTime } from '@tallybay/decode';
import type { Registry, UploadPatch, UploadRow } from '@tallybay/registry';
import { formerVehicle } from '../receive/former-vehicles.js';
import { identifyVehicle } from '../receive/identify.js';
import type { LandingStore } from '../receive/landing.js';
import { timeProblem } from '../receive/log-receiver.js';
import { firstInstantMs, planOrThrow } from '../receive/planning.js';
import type { Publisher } from '../receive/publisher.js';
import { correctSpeed } from '../receive/speed.js';
import type { LakeTurn } from './lake-turn.js';

/** Sends uploads on their way again: waiting ones once a person has said what was missing, stored ones to be decoded anew. */
export class Reprocess {
  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly publisher: Publisher,
    private readonly lake: LakeTurn,
  ) {}

  /**
   * @returns the upload, on its way or still waiting for something else
   * @throws TallybayError `upload_unknown`, `upload_not_waiting`, `vehicle_unknown`
   */
  async release(id: string, release: Release): Promise<UploadRow> {
    const upload = await this.find(id);
    if (upload.state !== 'waiting')
      throw new TallybayError('upload_not_waiting', `Upload ${id} is ${upload.state}, not waiting`);
    if (release.vehicle !== undefined) await this.mustBeRegistered(release.vehicle);
    const patch =
      upload.kind === 'log' ? await this.settleLog(upload, release) : await this.settleSnapshot(upload, release);
    if (patch.problem) {
      await this.registry.uploads.update(id, patch);
      return this.find(id);
    }
    if (await this.registry.uploads.transition(id, ['waiting'], 'landed', patch))
      await this.publisher.publish(await this.find(id));
    return this.find(id);
  }

  /** Decodes the landed bytes again with today's catalogue and profile; its files in the lake are replaced. */
  async decodeAgain(id: string, vehicle?: string): Promise<UploadRow> {
    const upload = await this.markForDecode(id, vehicle);
    if (upload.state === 'landed') await this.publisher.publish(upload);
    return this.find(id);
  }

  /**
   * The first half of `decodeAgain`: from here on the upload is `landed` under a new attempt, and goes onto the stream even
   * if this process dies. @throws TallybayError `upload_unknown`, `upload_not_waiting`, `landing_corrupt`
   */
  async markForDecode(id: string, vehicle?: string): Promise<UploadRow> {
    const upload = await this.find(id);
    if (upload.state === 'waiting')
      throw new TallybayError('upload_not_waiting', `Upload ${id} was never decoded: it waits for a person`, {
        advice: 'Release it instead.',
      });
    if (vehicle !== undefined) await this.mustBeRegistered(vehicle);
    const plan = upload.kind === 'log' ? await this.planAnew(upload, vehicle ?? upload.vehicle) : null;
    const moves = vehicle !== undefined && upload.vehicle !== null && vehicle !== upload.vehicle;
    const patch: UploadPatch = {
      ...{ attempt: upload.attempt + 1, vehicle: vehicle ?? upload.vehicle, problem: null },
      ...(moves ? { decisions: [...upload.decisions, formerVehicle(upload.vehicle!, vehicle)] } : {}),
      ...(plan ? { plan, unmapped: unmappedHeaders(plan) } : {}),
    };
    const { uploads } = this.registry;
    const moved = await this.lake.mark(upload, () => uploads.transitionOf(upload, ANY_BUT_WAITING, 'landed', patch));
    if (moved) return this.find(id);
    // Somebody else asked for a decode at this moment: theirs is as new as ours, unless it is for another vehicle.
    const isForAnother = vehicle !== undefined && (await this.find(id)).vehicle !== vehicle;
    return isForAnother ? this.markForDecode(id, vehicle) : upload;
  }

  async find(id: string): Promise<UploadRow> {
    const upload = await this.registry.uploads.get(id);
    if (!upload) throw new TallybayError('upload_unknown', `There is no upload ${id}`);
    return upload;
  }

  private async settleLog(upload: UploadRow, release: Release): Promise<UploadPatch> {
    const plan = withTime(upload.plan as LogPlan, {
      ...(release.recordedAt ? { recordedAtMs: Date.parse(release.recordedAt) } : {}),
      ...(release.timeZone ? { timeZone: release.timeZone } : {}),
    });
    const need = timeNeed(plan);
    const atMs = need === null ? await this.firstInstant(upload, plan) : null;
    const who = await this.whoseUpload(upload, release, atMs, plan.vin);
    const problem = who.problem ?? (need === null ? null : timeProblem(need).toDocument());
    const settled = problem ? plan : await correctSpeed(this.registry, plan, who.vehicle, atMs);
    const decisions = [
      ...settled.decisions,
      ...upload.decisions.filter((one) => one.what === 'vehicle'),
      ...who.decisions,
    ];
    return { vehicle: who.vehicle, plan: settled, problem, decisions };
  }

  private async settleSnapshot(upload: UploadRow, release: Release): Promise<UploadPatch> {
    const atMs = upload.firstTime === null ? null : Date.parse(upload.firstTime);
    const who = await this.whoseUpload(upload, release, atMs, (upload.plan as { vin?: string } | null)?.vin ?? null);
    return { vehicle: who.vehicle, problem: who.problem, decisions: [...upload.decisions, ...who.decisions] };
  }

  /** A vehicle named at release is a person's decision and ends any contradiction. */
  private async whoseUpload(upload: UploadRow, release: Release, atMs: number | null, vin: string | null) {
    const named = release.vehicle ?? (upload.problem?.code === 'vehicle_unknown' ? null : upload.vehicle);
    if (named !== null)
      return { vehicle: named, problem: null, decisions: [{ what: 'vehicle', value: named, why: 'named at release' }] };
    const retry = upload.problem?.code === 'vehicle_unknown' ? /"(.+)"/.exec(upload.problem.detail)?.[1] : undefined;
    return identifyVehicle(this.registry, { named: retry ?? null, vin, recorder: upload.recorder, atMs });
  }

  private async firstInstant(upload: UploadRow, plan: LogPlan): Promise<number | null> {
    return firstInstantMs(plan, await this.firstChunk(upload));
  }

  private async planAnew(upload: UploadRow, vehicleId: string | null): Promise<LogPlan> {
    const old = upload.plan as LogPlan;
    const profile = upload.recorder ? await this.registry.profiles.forRecorder(upload.recorder) : null;
    const head = await this.firstChunk(upload);
    const hints = { ...(upload.fileName ? { fileName: upload.fileName } : {}), ...(profile ? { profile } : {}) };
    const fresh = planOrThrow(head, hints, upload.progress.chunks === 1);
    // What the sender or a person once said about the time is not in the bytes: it fills what is missing now.
    const plan = timeNeed(fresh) !== null && fresh.time.kind === old.time.kind ? { ...fresh, time: old.time } : fresh;
    return correctSpeed(this.registry, plan, vehicleId, firstInstantMs(plan, head));
  }

  private async firstChunk(upload: UploadRow): Promise<Uint8Array> {
    for await (const bytes of this.landing.original(upload.landingFile!)) return bytes;
    return new Uint8Array(0);
  }

  private async mustBeRegistered(vehicle: string): Promise<void> {
    if (!(await this.registry.vehicles.get(vehicle)))
      throw new TallybayError('vehicle_unknown', `The vehicle "${vehicle}" is not registered`, {
        advice: 'Register it first, or name one that is.',
        place: { field: 'vehicle' },
      });
  }
}

const ANY_BUT_WAITING: UploadState[] = ['landed', 'queued', 'decoding', 'stored', 'failed'];

const unmappedHeaders = (plan: LogPlan): string[] =>
  plan.channels.filter((channel) => channel.role === 'unmapped').map((channel) => channel.header);
