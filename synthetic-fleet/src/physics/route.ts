import type { DutyId, VehicleClassRow } from '../fleet/classes.js';
import type { RandomStream } from '../random.js';
import type { DriveState } from './state.js';

interface DutyRow {
  minutes: [number, number];
  /** Cruising speed [km/h] for light and heavy vehicles. */
  speedKmh: [light: number, heavy: number];
  /** Seconds between stops and length of a stop; null = no stops. */
  stops: { everyS: [number, number]; forS: [number, number] } | null;
  /** Rolling terrain, peak [%], and steady climb [%]. */
  rollingPct: number;
  climbPct: [number, number];
}

const FLAT = { stops: null, rollingPct: 0, climbPct: [0, 0] } satisfies Partial<DutyRow>;

const DUTIES: Record<DutyId, DutyRow> = {
  town: { ...FLAT, minutes: [4, 12], speedKmh: [46, 42], stops: { everyS: [35, 90], forS: [6, 28] }, rollingPct: 1.2 },
  valley: {
    ...FLAT,
    minutes: [5, 18],
    speedKmh: [80, 74],
    stops: { everyS: [220, 480], forS: [8, 25] },
    rollingPct: 1.6,
  },
  highway: { ...FLAT, minutes: [6, 30], speedKmh: [108, 94], rollingPct: 1.4 },
  climb: { ...FLAT, minutes: [6, 12], speedKmh: [68, 52], rollingPct: 0.8, climbPct: [4.2, 6.2] },
  site: { ...FLAT, minutes: [3, 9], speedKmh: [0, 0] },
  pumping: { ...FLAT, minutes: [6, 18], speedKmh: [0, 0] },
};

export interface Leg {
  duty: DutyId;
  seconds: number;
  speedMs: number;
  climbPct: number;
  rollingPct: number;
  pumpKw: number;
}

export interface LegWishes {
  seconds: number;
  /** Legs that must come, in order: at once, or after a first leg of any easy kind. */
  must: readonly DutyId[];
  atOnce: boolean;
}

const HARD_DUTIES: readonly DutyId[] = ['pumping', 'climb'];

/** Legs that fill the drive, drawn by the class's duties. */
export function planLegs(vehicle: VehicleClassRow, wishes: LegWishes, random: RandomStream): Leg[] {
  const legs: Leg[] = [];
  let left = wishes.seconds;
  const wanted = [...wishes.must];
  while (left > 0) {
    const first = legs.length === 0 && !wishes.atOnce;
    const duty = !first && wanted.length > 0 ? (wanted.shift() as DutyId) : random.weighted(vehicle.duties).duty;
    if (first && HARD_DUTIES.includes(duty)) continue;
    const leg = makeLeg(vehicle, duty, random);
    leg.seconds = Math.min(leg.seconds, left);
    legs.push(leg);
    left -= leg.seconds;
  }
  return legs;
}

function makeLeg(vehicle: VehicleClassRow, duty: DutyId, random: RandomStream): Leg {
  const table = DUTIES[duty];
  return {
    duty,
    seconds: Math.round(60 * random.range(...table.minutes)),
    speedMs: (table.speedKmh[vehicle.light ? 0 : 1] * random.range(0.92, 1.06)) / 3.6,
    climbPct: random.range(...table.climbPct) * (vehicle.light ? 1.1 : 0.85),
    rollingPct: table.rollingPct * random.range(0.5, 1.2),
    pumpKw: duty === 'pumping' ? vehicle.pumpKw * random.range(0.7, 1) : 0,
  };
}

/** Walks along the legs, one call a second: what speed the driver wants, the grade, the pump. */
export class Route {
  #leg = 0;
  #legS = 0;
  #stopInS = 40;
  #stoppedS = 0;
  #mood = 0;

  constructor(
    readonly legs: readonly Leg[],
    readonly random: RandomStream,
  ) {}

  /** Whole length [s]. */
  get seconds(): number {
    return this.legs.reduce((sum, leg) => sum + leg.seconds, 0);
  }

  advance(state: DriveState): void {
    while (this.#leg < this.legs.length - 1 && this.#legS >= (this.legs[this.#leg] as Leg).seconds) {
      this.#leg += 1;
      this.#legS = 0;
    }
    const leg = this.legs[this.#leg] as Leg;
    this.#legS += 1;
    this.#mood = 0.97 * this.#mood + 0.012 * this.random.normal();
    state.pumpKw = state.speedMs < 0.5 ? leg.pumpKw : 0;
    state.targetMs = this.#wanted(leg) * (1 + this.#mood);
    const hump = leg.rollingPct * Math.sin((2 * Math.PI * this.#legS) / 140);
    const climbing = this.#legS < 0.68 * leg.seconds ? leg.climbPct : -leg.climbPct;
    const gradePct = state.speedMs > 0.5 ? hump + climbing : 0;
    state.gradePct += (gradePct - state.gradePct) / 8;
    state.headingDeg = (state.headingDeg + this.random.range(-2, 2) * (state.speedMs > 1 ? 1 : 0) + 360) % 360;
  }

  #wanted(leg: Leg): number {
    const stops = DUTIES[leg.duty].stops;
    if (!stops) return leg.speedMs;
    if (this.#stoppedS > 0) {
      this.#stoppedS -= 1;
      if (this.#stoppedS <= 0) this.#stopInS = this.random.range(...stops.everyS);
      return 0;
    }
    this.#stopInS -= 1;
    if (this.#stopInS <= 0) this.#stoppedS = this.random.range(...stops.forS) + leg.speedMs;
    return leg.speedMs;
  }
}
