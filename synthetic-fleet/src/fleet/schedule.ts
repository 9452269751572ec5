import { addWeeks, wallClockMs } from '../calendar.js';
import { isDown } from '../faults/kinds.js';
import type { ResolvedOptions } from '../options.js';
import type { DutyId } from './classes.js';
import type { VehiclePlan } from './plan.js';

/** One drive before it is driven. */
export interface DrivePlan {
  week: string;
  /** Number in the vehicle's life within the window, from 0. */
  ordinal: number;
  firstOfWeek: boolean;
  startMs: number;
  seconds: number;
  must: DutyId[];
  atOnce: boolean;
  trailerKg: number;
}

/** Start hours of the three shifts; four hours fit between them. */
const SHIFTS = [6.5, 11.5, 16.5];
const SHIFT_JITTER_H = 0.75;
const WORKDAYS = 6;

/** Drives of one vehicle in the window, in order. None while it stands broken down. */
export function* scheduleDrives(options: ResolvedOptions, plan: VehiclePlan): Generator<DrivePlan> {
  let ordinal = 0;
  for (const week of plan.window.weeks) {
    let firstOfWeek = true;
    for (const drive of plan.role.tenMinutes ? tenMinutes(plan, week) : weekDrives(options, plan, week)) {
      if (isDown(plan.faults, drive.startMs)) continue;
      yield { ...drive, ordinal, firstOfWeek };
      ordinal += 1;
      firstOfWeek = false;
    }
  }
}

type Unnumbered = Omit<DrivePlan, 'ordinal' | 'firstOfWeek'>;

function weekDrives(options: ResolvedOptions, plan: VehiclePlan, week: string): Unnumbered[] {
  const random = plan.random.split('week', addWeeks(week, -plan.weeksShifted));
  const planted = plan.faults.length > 0;
  const wanted = Math.max(planted ? 3 : 2, Math.round(random.int(4, 7) * options.scale));
  const slots = Array.from({ length: WORKDAYS * SHIFTS.length }, (_, slot) => slot);
  const chosen = random
    .shuffled(slots)
    .slice(0, Math.min(wanted, slots.length))
    .sort((a, b) => a - b);
  return chosen.map((slot) => {
    const draw = random.split('slot', slot);
    const place = { week, days: Math.floor(slot / SHIFTS.length), zone: plan.depot.timeZone };
    const hour = (SHIFTS[slot % SHIFTS.length] as number) + draw.range(0, SHIFT_JITTER_H);
    const shortest = planted ? Math.min(20, options.maxDriveMinutes) : 10;
    const minutes = shortest * Math.exp(draw.next() ** 0.9 * Math.log(options.maxDriveMinutes / shortest));
    const towing = plan.vehicleClass.trailerKg > 0 && draw.chance(0.3);
    return {
      week,
      startMs: wallClockMs(place, hour),
      seconds: Math.round(minutes * 60),
      must: mustLegs(plan, planted ? 0 : draw.next()),
      atOnce: false,
      trailerKg: towing ? Math.round(plan.vehicleClass.trailerKg * draw.range(0.4, 1)) : 0,
    };
  });
}

function mustLegs(plan: VehiclePlan, roll: number): DutyId[] {
  if (plan.vehicleClass.pumpKw > 0) return roll < 0.75 ? ['pumping'] : ['climb'];
  return roll < 0.6 ? ['climb'] : ['valley'];
}

/** A single short, overloaded climb on the hottest hour of the last week's Wednesday. */
function tenMinutes(plan: VehiclePlan, week: string): Unnumbered[] {
  if (week !== plan.window.weeks.at(-1)) return [];
  const startMs = wallClockMs({ week, days: 2, zone: plan.depot.timeZone }, 14.6);
  return [
    {
      week,
      startMs,
      seconds: 600,
      must: ['climb', 'climb'],
      atOnce: true,
      trailerKg: 1.35 * plan.vehicleClass.trailerKg,
    },
  ];
}
