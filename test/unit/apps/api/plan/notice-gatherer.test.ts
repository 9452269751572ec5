import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FleetReadiness, Ranking, Vehicle } from '@tallybay/contracts';
import { initLake, publishRanking } from '@tallybay/lake';
import { openRegistry } from '@tallybay/registry';
import { DEFAULT_RULES } from '@tallybay/risk';
import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { NoticeGatherer } from '../../../../../apps/api/src/notices/notice-gatherer.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';
import { putRows } from '../../../libs/lake/lake-builder.js';

const part = { score: 0, state: 'ok' as const, note: null };
function ranking(week: string, order: string[]): Ranking {
  const ranked = order.map((vehicle, index) => ({
    ...{
      rank: index + 1,
      vehicle,
      vehicleClass: 'van',
      depot: 'north',
      score: 1 - index / 10,
      heat: part,
      codes: part,
      readiness: part,
    },
    coverage: { share: 1, engineHours: 3, distanceKm: 20, drives: 2, snapshots: 1 },
    ...{ change: { rank: null, score: null }, inputs: {} },
    reasons: [{ component: 'heat' as const, text: `Coolant of ${vehicle} hot.`, weight: 1, evidence: [] }],
  }));
  return {
    ...{
      week,
      timeZone: 'UTC',
      from: '2026-11-09T00:00:00Z',
      to: '2026-11-16T00:00:00Z',
      revision: 1,
      provisional: false,
    },
    ...{ ruleVersion: 'r', ranked, unranked: [], changes: [], caution: '' },
  };
}

async function desk() {
  const lakeDirectory = await mkdtemp(join(tmpdir(), 'tallybay-notices-'));
  initLake(lakeDirectory);
  const nowMs = () => Date.UTC(2026, 10, 23);
  const registry = await openRegistry({ kind: 'sqlite', file: ':memory:', nowMs });
  onTestFinished(async () => {
    await registry.close();
    await rm(lakeDirectory, { recursive: true, force: true });
  });
  let verdict = 'would_pass';
  const read = async () =>
    ({
      vehicles: [
        {
          ...{
            vehicle: 'KV-1',
            vehicleClass: 'van',
            depot: 'north',
            inspectionDue: '2026-12-01',
            dueInDays: 8,
            newestSnapshot: null,
          },
          verdicts: [{ programme: DEFAULT_RULES.readiness.programme, verdict, blocking: [], why: [] }],
        },
      ],
    }) as unknown as FleetReadiness;
  const shop = new ShopReader(registry, new EditedSettings(registry), nowMs);
  const rules = async () => DEFAULT_RULES;
  const gatherer = new NoticeGatherer({ registry, shop, lakeDirectory, readiness: { read } as never, rules });
  return { lakeDirectory, registry, gatherer, turn: (to: string) => (verdict = to) };
}

describe('what there is to tell', () => {
  it('is who came into the first three, with the rank before and the first reason', async () => {
    const { lakeDirectory, gatherer } = await desk();
    await publishRanking(lakeDirectory, ranking('2026-W46', ['a', 'b', 'c', 'd']));
    await publishRanking(lakeDirectory, ranking('2026-W47', ['a', 'd', 'e', 'b', 'c']));
    const words = (await gatherer.gather()).filter(({ kind }) => kind === 'entered_top').map((notice) => notice.words);
    expect(words).toEqual([
      'd is 2 of 2026-W47; it was 4 the week before. Coolant of d hot.',
      'e is 3 of 2026-W47; it was not ranked the week before. Coolant of e hot.',
    ]);
  });

  it('is a verdict that changed near its due date, once', async () => {
    const { gatherer, turn } = await desk();
    expect(await gatherer.gather()).toEqual([]);
    turn('would_fail');
    expect((await gatherer.gather()).map(({ words }) => words)).toEqual([
      'KV-1: its emissions inspection, due on 2026-12-01, would fail; before, it would pass',
    ]);
    expect(await gatherer.gather()).toEqual([]);
  });

  it('finds a changed verdict again when the notice could not be kept', async () => {
    const { gatherer, turn, registry } = await desk();
    await gatherer.gather();
    turn('would_fail');
    const add = vi.spyOn(registry.notices, 'add').mockRejectedValueOnce(new Error('the process ended here'));
    await expect(gatherer.gather()).rejects.toThrow('ended here');
    add.mockRestore();
    expect(await gatherer.gather()).toHaveLength(1);
    expect((await registry.notices.list()).map(({ kind }) => kind)).toEqual(['verdict_changed']);
  });

  it('is a limit that an upload crossed: once a recording and stage, with the worst; watch stages are no news', async () => {
    const { lakeDirectory, gatherer } = await desk();
    const at = Date.UTC(2026, 10, 20, 9);
    const crossing = (stage: string, minute: number, seconds: number, worst: number) => ({
      ...{ crossing_id: `${stage} ${minute}`, signal: 'coolant_temp_c', direction: 'high', stage, worst, seconds },
      ...{ limit_value: 110, written: '230 °F', started_at: at + minute * 60_000, worst_at: at + minute * 60_000 },
      ended_at: at + minute * 60_000 + seconds * 1000,
    });
    const rows = [crossing('alarm', 0, 60, 111.5), crossing('alarm', 10, 120, 114.25), crossing('watch', 20, 600, 112)];
    putRows(lakeDirectory, 'crossings', { vehicle: 'KV-2', upload: 'u1' }, rows);
    const told = await gatherer.gather();
    expect(told.map(({ kind, vehicle, words }) => [kind, vehicle, words])).toEqual([
      ['limit_crossed', 'KV-2', 'KV-2: coolant_temp_c above 230 °F (alarm) for 3 min in 2 stretches, worst 114.3'],
    ]);
  });

  it('is a vehicle from which nothing has come for too long, once; not one that is unknown or in time', async () => {
    const { lakeDirectory, gatherer, registry } = await desk();
    const daysAgo = (days: number) => Date.UTC(2026, 10, 23) - days * 86_400_000;
    for (const [vehicle, days] of Object.entries({ 'KV-3': 40, 'KV-4': 1, stranger: 40 }))
      putRows(lakeDirectory, 'snapshots', { vehicle, upload: `of ${vehicle}` }, [{ time: daysAgo(days) }]);
    await registry.depots.upsert({ id: 'north', name: 'North', timeZone: 'UTC' });
    const facts = { vehicleClass: 'van', depot: 'north' };
    for (const id of ['KV-3', 'KV-4']) await registry.vehicles.upsert({ id, ...facts } as Vehicle);
    const told = await gatherer.gather();
    expect(told.map(({ kind, words }) => [kind, words])).toEqual([
      ['upload_overdue', expect.stringMatching(/^KV-3: nothing has arrived since 2026-10-14, more than \d+ days ago$/)],
    ]);
    await gatherer.gather();
    expect(await registry.notices.list()).toHaveLength(1);
  });

  it('leaves out kinds that nobody wants', async () => {
    const { gatherer, turn, registry } = await desk();
    await gatherer.gather();
    await registry.settings.put('notices', { kinds: ['limit_crossed'] });
    turn('would_fail');
    expect(await gatherer.gather()).toEqual([]);
  });
});
