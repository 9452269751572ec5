import type { SignalId } from '@tallybay/decode';
import { RandomStream } from '@tallybay/synthetic-fleet';

/** How recorders of a fleet tell less, or tell it worse, than those of the preset. */
export interface WorseRecorders {
  about: string;
  /** Channels that nobody records. */
  without?: readonly SignalId[];
  /** Share of the drives whose log never comes. */
  lost?: number;
  /** Every temperature of a drive reads this far off, anew in each drive [K, standard deviation]. */
  driveOffC?: number;
  /** What a sensor reads too high in every vehicle of the fleet, because of where it sits [K]. */
  placedC?: Partial<Record<SignalId, number>>;
  /** Each vehicle's thermostat opens this far from the usual [K, standard deviation]. */
  thermostatOffC?: number;
}

const AIR = ['ambient_temp_c', 'intake_air_temp_c'] as const;
const OTHER_FLUIDS = ['engine_oil_temp_c', 'trans_fluid_temp_c', 'charge_air_temp_c', 'exhaust_gas_temp_c'] as const;

/** The rows of `docs/evaluation.md`, Sensitivity. Own choice, no source. */
export const WORSE_RECORDERS = {
  none: { about: 'as the preset records' },
  'no-air': { about: 'no outside or intake air temperature', without: AIR },
  'no-load': { about: 'no engine load', without: ['engine_load_pct'] },
  'no-load-no-speed': {
    about: 'no engine load, no road speed, no engine speed',
    without: ['engine_load_pct', 'vehicle_speed_kmh', 'engine_speed_rpm'],
  },
  'coolant-and-air': { about: 'of the temperatures only coolant and air', without: OTHER_FLUIDS },
  'coolant-and-intake': {
    about: 'of the temperatures only coolant and intake air',
    without: [...OTHER_FLUIDS, 'ambient_temp_c'],
  },
  'warm-intake': {
    about: 'the same, and the intake sensor sits where it is 12 K warmer in every vehicle',
    without: [...OTHER_FLUIDS, 'ambient_temp_c'],
    placedC: { intake_air_temp_c: 12 },
  },
  'warm-air': {
    about: 'of the temperatures only coolant and air, whose sensors sit where it is 8 K warmer in every vehicle',
    without: OTHER_FLUIDS,
    placedC: { intake_air_temp_c: 8, ambient_temp_c: 8 },
  },
  'coolant-only': { about: 'of the temperatures only coolant', without: [...OTHER_FLUIDS, ...AIR] },
  'off-by-drive': { about: 'temperatures 1.5 K off, anew in each drive', driveOffC: 1.5 },
  thermostats: { about: "each vehicle's thermostat 3 K off", thermostatOffC: 3 },
  'drives-lost': { about: 'a third of the drives lost', lost: 1 / 3 },
} as const satisfies Record<string, WorseRecorders>;

export type WorseName = keyof typeof WORSE_RECORDERS;

/** Where a drive was: draws depend on nothing else, so that every run gives the same ones. */
interface Drive {
  vehicle: string;
  ordinal: number;
}

const drawOf = (...parts: (string | number)[]) => new RandomStream(`worse-recorders/${parts.join('/')}`);

export const isLost = ({ lost = 0 }: WorseRecorders, { vehicle, ordinal }: Drive): boolean =>
  lost > 0 && drawOf('lost', vehicle, ordinal).chance(lost);

export const isWithout = ({ without = [] }: WorseRecorders, signal: string): boolean =>
  (without as readonly string[]).includes(signal);

/** A thermostat begins to matter where the engine is warm: from 40 °C on, wholly from 80 °C. */
const [COLD_C, WARM_C] = [40, 80] as const;

/** What is to be added to a temperature of one signal in one drive; null = nothing. */
export function temperatureError(
  { driveOffC, thermostatOffC, placedC }: WorseRecorders,
  signal: string,
  { vehicle, ordinal }: Drive,
): ((valueC: number) => number) | null {
  const placed = (placedC as Partial<Record<string, number>> | undefined)?.[signal];
  if (placed !== undefined) return () => placed;
  if (driveOffC !== undefined) {
    const offC = drawOf('drive', vehicle, ordinal, signal).normal() * driveOffC;
    return () => offC;
  }
  if (thermostatOffC === undefined || signal !== 'coolant_temp_c') return null;
  const offC = drawOf('thermostat', vehicle).normal() * thermostatOffC;
  return (valueC) => offC * Math.min(1, Math.max(0, (valueC - COLD_C) / (WARM_C - COLD_C)));
}
