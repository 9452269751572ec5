import {
  classifyError,
  type DecodeAgainRequest,
  type DecodeAgainResult,
  type LakeCheck,
  TallybayError,
} from '@tallybay/contracts';
import { checkLake, OwnFiles, packOf } from '@tallybay/lake';
import type { Registry, UploadRow } from '@tallybay/registry';
import { weekWindow } from '@tallybay/risk';
import type { LandedSweep } from './landed-sweep.js';
import type { Reprocess } from './reprocess.js';

const PAGE = 500;
const HOUR_MS = 3_600_000;
/** Depots' zones differ from UTC by at most so much; which uploads are of the week is then decided by their own depot. */
const ZONE_MARGIN_MS = 15 * HOUR_MS;

/** Many uploads decoded again at once, and the lake's damaged files, which is where such a wish often comes from. */
export class DecodeAgain {
  constructor(
    private readonly lake: string,
    private readonly registry: Registry,
    private readonly reprocess: Reprocess,
    private readonly sweep: LandedSweep,
  ) {}

  /**
   * Marks every upload that fits; they go onto the stream one after the other, also if this process dies meanwhile.
   * @throws TallybayError `week_invalid`
   */
  async run(request: DecodeAgainRequest): Promise<DecodeAgainResult> {
    const result: DecodeAgainResult = { uploads: [], refused: [] };
    for (const upload of await this.select(request)) {
      try {
        await this.reprocess.markForDecode(upload.id);
        result.uploads.push(upload.id);
      } catch (thrown) {
        result.refused.push({ id: upload.id, problem: classifyError(thrown).toDocument() });
      }
    }
    this.sweep.soon(true);
    return result;
  }

  /**
   * Takes damaged files out of the lake and marks their uploads failed, so that they show and can be decoded again; so too
   * uploads that should be there and are not.
   */
  async checkLake(): Promise<LakeCheck> {
    const found = await checkLake(this.lake);
    for (const { file, uploadId, why } of found.damaged) {
      if (uploadId === null) continue;
      const problem = new TallybayError('lake_damaged', `The lake's file ${file} is damaged: ${why}`, {
        advice: 'It was moved to .damaged. Decode the upload again: its bytes are in the landing store.',
        place: { file },
      }).toDocument();
      await this.registry.uploads.transition(uploadId, ['stored'], 'failed', { problem });
    }
    return { ...found, missing: await this.missing() };
  }

  /** Each upload has a file of the table `uploads`, the last of its files to appear. */
  private async missing(): Promise<LakeCheck['missing']> {
    const missing: LakeCheck['missing'] = [];
    const stored = await this.registry.uploads.withState('stored');
    // Looked at after that: what is stored by then has its files, and one that is replaced meanwhile is marked otherwise.
    const files = new OwnFiles(this.lake);
    for (const upload of stored) {
      const vehicle = upload.vehicle ?? '';
      const isThere = files.of('uploads', vehicle, upload.id).length > 0;
      if (isThere || packOf(this.lake, vehicle, upload.id)) continue;
      const problem = new TallybayError('lake_damaged', `The lake has no rows of upload ${upload.id} for ${vehicle}`, {
        advice: 'Was a file deleted, or an older copy of the lake restored? Decode the upload again.',
      }).toDocument();
      // Not if it is being decoded again by now: then its files were moved, not lost.
      if (await this.registry.uploads.transitionOf(upload, ['stored'], 'failed', { problem }))
        missing.push({ uploadId: upload.id, vehicle });
    }
    return missing;
  }

  private async select(request: DecodeAgainRequest): Promise<UploadRow[]> {
    const selected: UploadRow[] = [];
    const span = request.week === undefined ? undefined : widened(weekWindow(request.week, 'UTC'));
    const zones = await this.zones();
    for (const state of request.state ? [request.state] : (['stored', 'failed'] as const)) {
      let before: string | undefined;
      for (;;) {
        const page = await this.registry.uploads.list({
          state,
          limit: PAGE,
          ...(request.vehicle === undefined ? {} : { vehicle: request.vehicle }),
          ...(span ? { span } : {}),
          ...(before === undefined ? {} : { before }),
        });
        selected.push(...page.filter((upload) => isOfWeek(upload, request.week, zones)));
        if (page.length < PAGE) break;
        before = page.at(-1)!.id;
      }
    }
    return selected;
  }

  /** Zone of each vehicle's depot. */
  private async zones(): Promise<Map<string, string>> {
    const depots = new Map((await this.registry.depots.list()).map((depot) => [depot.id, depot.timeZone]));
    const vehicles = await this.registry.vehicles.list();
    return new Map(vehicles.map((vehicle) => [vehicle.id, depots.get(vehicle.depot) ?? 'UTC']));
  }
}

const widened = ({ fromMs, toMs }: { fromMs: number; toMs: number }) => ({
  fromMs: fromMs - ZONE_MARGIN_MS,
  toMs: toMs + ZONE_MARGIN_MS,
});

function isOfWeek(upload: UploadRow, week: string | undefined, zones: ReadonlyMap<string, string>): boolean {
  if (week === undefined) return true;
  if (upload.firstTime === null || upload.lastTime === null) return false;
  const { fromMs, toMs } = weekWindow(week, zones.get(upload.vehicle ?? '') ?? 'UTC');
  return Date.parse(upload.firstTime) < toMs && Date.parse(upload.lastTime) >= fromMs;
}
