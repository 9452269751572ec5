import type { SignalId } from '@tallybay/decode';
import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule, WarningSignal } from '../rules/warning.js';
import { classResiduals } from './class-residuals.js';
import { type Excess, excessOf } from './excess.js';

/** What one drive asked of the cooling and what came of it: means over the drive, and the temperatures it held at its hottest. */
export interface DriveFeatures {
  driveId: string;
  startedMs: number;
  seconds: number;
  /** By signal, each in its own unit ([%], [km/h], [°C], [rpm]); absent where not recorded. */
  means: Partial<Record<SignalId, number>>;
  /** Highest that was held for the rule's `heldSeconds`; the very highest where that is not known. */
  heldC: Partial<Record<HeatSignal, number>>;
  /** What the sensor itself reads too high, as cold starts near the drive say [K]; absent where nothing says so. */
  sensorK: Partial<Record<HeatSignal, number>>;
}

export interface VehicleFeatures {
  vehicleId: string;
  /** Signals that are not to be believed in this week. */
  badSignals: readonly HeatSignal[];
  /** Only drives that held less, by an honest sensor, are examples of their class; absent where there is no such limit [°C]. */
  learnsBelowC: Partial<Record<HeatSignal, number>>;
  drives: readonly DriveFeatures[];
}

export interface EarlyWarning {
  signal: HeatSignal;
  /** Recent drives above what the class's model explains, over the vehicle's own baseline [K]. */
  excessK: number;
  /** What it had to reach to be told from chance [K]. */
  thresholdK: number;
  recentDrives: number;
  text: string;
  driveIds: string[];
}

/** What all signals together say of a vehicle while none of them warns. */
export interface Leaning {
  /** Root of the sum of squares of the signals' excess in weighted standard errors; falls below the baseline count as none. */
  errors: number;
  /** The signal that says most. */
  strongest: Omit<EarlyWarning, 'text'>;
  text: string;
}

export interface Evidence {
  warnings: EarlyWarning[];
  leaning: Leaning | null;
}

/**
 * Vehicles of one class whose temperatures rise beyond what their drives explain, before any limit is crossed.
 *
 * The highest temperature that a drive held for a minute is explained by mean load, speed, ambient, engine speed and length with one robust
 * regression over the class (season and route are in it; a few sick vehicles do not bend it; see `classModel`). A vehicle's residuals of the last days are
 * then held against its own earlier ones, shrunk toward the class where it has few.
 * @returns by vehicle id; vehicles without recent drives of any signal are absent
 */
export function classEvidence(
  vehicles: readonly VehicleFeatures[],
  asOfMs: number,
  rule: WarningRule,
): Map<string, Evidence> {
  const found = new Map<string, Judged[]>();
  for (const row of rule.signals) {
    const known = classResiduals(vehicles, row.signal, rule);
    for (const { vehicleId, residuals } of known?.members ?? []) {
      const excess = excessOf(residuals, { ...row, ...known!.spread, asOfMs }, rule);
      if (excess) found.set(vehicleId, [...(found.get(vehicleId) ?? []), { ...row, excess }]);
    }
  }
  return new Map([...found].map(([vehicleId, judged]) => [vehicleId, evidenceOf(judged, rule)]));
}

/** Only the warnings; vehicles without one are absent. */
export const earlyWarnings = (
  vehicles: readonly VehicleFeatures[],
  asOfMs: number,
  rule: WarningRule,
): Map<string, EarlyWarning[]> =>
  new Map(
    [...classEvidence(vehicles, asOfMs, rule)].flatMap(([vehicleId, { warnings }]) =>
      warnings.length > 0 ? [[vehicleId, warnings] as const] : [],
    ),
  );

interface Judged extends WarningSignal {
  excess: Excess;
}

function evidenceOf(judged: readonly Judged[], rule: WarningRule): Evidence {
  const warnings = judged
    .filter(({ excess }) => excess.warns)
    .map((item): EarlyWarning => {
      const text =
        `${item.label} runs ${item.excess.excessK.toFixed(item.excess.excessK < 3 ? 1 : 0)} K above what load, speed, ` +
        `outside air and length of its last ${item.excess.recent.length} drives explain${lessSensor(item)}: cooling may be weakening.`;
      return { ...figuresOf(item), text };
    });
  const rising = judged.filter(({ excess }) => excess.excessK > 0);
  const errors = Math.hypot(...rising.map(errorsOf));
  const [first] = [...rising].sort((a, b) => errorsOf(b) - errorsOf(a));
  return { warnings, leaning: first ? { errors, strongest: figuresOf(first), text: leaningText(first, rule) } : null };
}

/** Said where it matters: something was taken off what the sensor wrote. */
function lessSensor({ excess }: Judged): string {
  const most = Math.max(...excess.recent.map(({ sensorK }) => sensorK));
  return most > 0 ? `, less up to ${most.toFixed(0)} K by which its sensor stood too high at cold starts` : '';
}

const errorsOf = ({ leaningWeight, excess }: Judged): number => (leaningWeight * excess.excessK) / excess.errorK;

const leaningText = ({ label, excess }: Judged, rule: WarningRule): string =>
  `${label} leans ${excess.excessK.toFixed(1)} K above what ${lastDrives(excess)}; ` +
  `${whatIsMissing(excess, rule)}. Nothing to act on yet.`;

const lastDrives = ({ recent }: Excess): string =>
  recent.length === 1 ? 'its last drive explains' : `its last ${recent.length} drives explain`;

/** Why it does not warn. */
function whatIsMissing({ recent, earlier, excessK, thresholdK }: Excess, rule: WarningRule): string {
  if (excessK < thresholdK) return `${thresholdK.toFixed(1)} K would be told from chance`;
  if (recent.length < rule.minRecentDrives) return `a warning needs ${rule.minRecentDrives} drives`;
  if (earlier < rule.minEarlierDrives)
    return `a warning needs ${rule.minEarlierDrives} earlier drives to hold it against, there ${earlier === 1 ? 'is 1' : `are ${earlier}`}`;
  return 'one of them alone makes most of it';
}

function figuresOf({ signal, excess }: Judged): Omit<EarlyWarning, 'text'> {
  const { recent, excessK, thresholdK } = excess;
  const worst = [...recent].sort((a, b) => b.kelvin - a.kelvin || a.startedMs - b.startedMs).slice(0, 3);
  const driveIds = worst.map(({ driveId }) => driveId);
  return { signal, excessK, thresholdK, recentDrives: recent.length, driveIds };
}
