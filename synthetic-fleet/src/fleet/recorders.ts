import { MS_PER_DAY, wallClockMs } from '../calendar.js';
import type { ResolvedOptions } from '../options.js';
import type { RandomStream } from '../random.js';
import { DIALECTS, type DialectId, type DialectRow, dialect } from '../recorder/dialects.js';
import type { Window } from './plan.js';
import { BLOCK_SIZE, blockRoles, type RoleRow, recorderDonor } from './roles.js';

/** A recorder in one vehicle from an instant until another. */
export interface RecorderPlan {
  serial: string;
  dialect: DialectRow;
  rateHz: number;
  maxChannels: number;
  fromMs: number;
  untilMs: number;
}

/** Roles that need a recorder with certain habits. */
const DIALECT_OF_ROLE: Readonly<Record<string, DialectId>> = {
  upload_without_vehicle: 'quoted-us',
  upload_contradiction: 'block-marker',
  wrong_unit: 'tab-epoch-aux',
  recorder_moved_from: 'bar-unit-row',
  stuck_sensor: 'us-split-clock',
};
/** Fewer rows a second would let a value of a sparse log go stale (5 s) before its channel comes round again. */
const SLOWEST_SPARSE_HZ = 5;

interface Place {
  fleet: RandomStream;
  index: number;
  role: RoleRow;
  window: Window;
  zone: string;
}

export function planRecorders(options: ResolvedOptions, place: Place): RecorderPlan[] {
  const { index, role, window } = place;
  const sinceMs = window.startMs - 90 * MS_PER_DAY;
  const everMs = window.endMs + 90 * MS_PER_DAY;
  const own = recorder(options, { serial: serialOf(place.fleet, index, 0), id: dialectOf(place) });
  if (!role.recorderMove) return [{ ...own, fromMs: sinceMs, untilMs: everMs }];
  const moveMs = moveInstant(place);
  const moved = recorder(options, { serial: serialOf(place.fleet, recorderDonor(place.fleet), 0), id: 'bar-unit-row' });
  const other = recorder(options, { serial: serialOf(place.fleet, index, 1), id: 'epoch-no-units' });
  const [before, after] = role.recorderMove === 'from' ? [moved, other] : [other, moved];
  return [
    { ...before, fromMs: sinceMs, untilMs: moveMs },
    { ...after, fromMs: moveMs, untilMs: everMs },
  ];
}

/** Three in the morning of the middle week's Thursday, by the clock of the first depot's zone. */
function moveInstant(place: Place): number {
  const week = place.window.weeks[Math.floor(place.window.weeks.length / 2)] as string;
  return wallClockMs({ week, days: 3, zone: 'America/Denver' }, 3);
}

function recorder(options: ResolvedOptions, make: { serial: string; id: DialectId }) {
  const row = dialect(make.id);
  const asked = options.rateHz === 'mixed' ? row.mixedRateHz : options.rateHz;
  return {
    serial: make.serial,
    dialect: row,
    rateHz: row.sparse ? Math.max(SLOWEST_SPARSE_HZ, asked) : asked,
    maxChannels: Math.min(row.maxChannels, options.maxChannels),
  };
}

/** Every dialect comes up among a block's vehicles whose role leaves it open, in an order that the seed decides. */
function dialectOf(place: Place): DialectId {
  const forced = DIALECT_OF_ROLE[place.role.id];
  if (forced) return forced;
  const block = Math.floor(place.index / BLOCK_SIZE);
  const before = blockRoles(place.fleet, block).slice(0, place.index % BLOCK_SIZE);
  const turn = before.filter((role) => !DIALECT_OF_ROLE[role.id] && !role.recorderMove).length;
  const order = place.fleet.split('dialects', block).shuffled<{ id: DialectId }>(DIALECTS);
  return (order[turn % order.length] as { id: DialectId }).id;
}

function serialOf(fleet: RandomStream, index: number, turn: number): string {
  const base = fleet.split('serials').int(10_000, 89_999);
  return `R7-${((base + index * 2 + turn) * 7) % 1_000_003}`;
}
