import { type Decoded, decoded, refused } from '../decode-problem.js';

const MM_PER_INCH = 25.4;
const MM_PER_KM = 1_000_000;
const MM_PER_MILE = 1_609_344;

export interface Tyre {
  /** As read, normalised, e.g. `LT245/75R16`. */
  marking: string;
  widthMm: number;
  aspectPct: number;
  rimIn: number;
  diameterMm: number;
  diameterIn: number;
  /** Free circumference, pi times the diameter; a loaded tyre rolls about 3 % less (ETRTO 3.05 D, from memory). */
  circumferenceMm: number;
  revsPerMile: number;
  revsPerKm: number;
}

/** Prefix, width / aspect, construction, rim; what follows (load index, speed symbol) does not change the size. */
const MARKING =
  /^(P|LT|T|C|ST)?(\d{3})\/(\d{2,3})(ZR|R|D|B|-)F?(\d{2}(?:\.\d{1,2})?)(LT|C)?(?: ?[ (][A-Z0-9/ ().*+-]{0,30})?$/;

/**
 * A metric size marking such as `225/70R19.5`, `P265/70 R17`, `LT245/75R16 120/116S`, `245/45ZR18`.
 * Diameter mm = 25.4 rim + 2 width aspect / 100. Source: common tyre calculators (read). Problem: `tyre_malformed`.
 */
export function decodeTyre(text: string): Decoded<Tyre> {
  const compact = text.trim().toUpperCase().replace(/\s+/g, ' ');
  const match = MARKING.exec(
    compact
      .replace(/^(P|LT|T|C|ST) /, '$1')
      .replace(/ ?\/ ?/, '/')
      .replace(/(\/\d{2,3}) ?(ZR|R|D|B|-) ?/, '$1$2'),
  );
  const [, prefix = '', width = '', aspect = '', construction = '', rim = '', suffix = ''] = match ?? [];
  const [widthMm, aspectPct, rimIn] = [Number(width), Number(aspect), Number(rim)];
  if (!match || widthMm < 100 || aspectPct < 20 || aspectPct > 105 || rimIn < 8 || rimIn > 32) {
    return refused(
      'tyre_malformed',
      `"${text.slice(0, 40)}" is not a metric tyre size within width 100-999 mm, aspect 20-105 %, rim 8-32 in`,
      'Copy the size from the side wall, for example 225/70R19.5.',
    );
  }
  const diameterMm = MM_PER_INCH * rimIn + (2 * widthMm * aspectPct) / 100;
  const circumferenceMm = Math.PI * diameterMm;
  return decoded({
    marking: `${prefix}${widthMm}/${aspectPct}${construction}${rimIn}${suffix}`,
    widthMm,
    aspectPct,
    rimIn,
    diameterMm,
    diameterIn: diameterMm / MM_PER_INCH,
    circumferenceMm,
    revsPerMile: MM_PER_MILE / circumferenceMm,
    revsPerKm: MM_PER_KM / circumferenceMm,
  });
}

export interface DrivelineChange {
  oldTyre: string;
  newTyre: string;
  /** Final drive ratios; both absent = not changed. */
  oldAxleRatio?: number;
  newAxleRatio?: number;
}

/**
 * True speed / indicated speed after tyres or final drive changed, where speed is sensed at the gearbox output:
 * (new diameter / old diameter) (old ratio / new ratio). Problems: `tyre_malformed`, `ratio_invalid`.
 */
export function speedCorrectionFactor(change: DrivelineChange): Decoded<number> {
  const oldTyre = decodeTyre(change.oldTyre);
  if (!oldTyre.ok) return oldTyre;
  const newTyre = decodeTyre(change.newTyre);
  if (!newTyre.ok) return newTyre;
  const oldRatio = change.oldAxleRatio ?? change.newAxleRatio ?? 1;
  const newRatio = change.newAxleRatio ?? change.oldAxleRatio ?? 1;
  const bad = [oldRatio, newRatio].find((ratio) => !isPositive(ratio));
  if (bad !== undefined) return badRatio('final drive', bad);
  return decoded((newTyre.value.diameterMm / oldTyre.value.diameterMm) * (oldRatio / newRatio));
}

export interface DrivelineSpeed {
  speedKmh: number;
  tyre: string;
  axleRatio: number;
  gearRatio: number;
}

/** Engine speed with a locked driveline: km/h to wheel revolutions a minute, times gear and final drive. */
export function engineSpeedRpm({ speedKmh, tyre, axleRatio, gearRatio }: DrivelineSpeed): Decoded<number> {
  const size = decodeTyre(tyre);
  if (!size.ok) return size;
  if (!isPositive(axleRatio)) return badRatio('final drive', axleRatio);
  if (!isPositive(gearRatio)) return badRatio('gear', gearRatio);
  if (!Number.isFinite(speedKmh) || speedKmh < 0) return badRatio('speed', speedKmh);
  return decoded(((speedKmh * MM_PER_KM) / 60 / size.value.circumferenceMm) * axleRatio * gearRatio);
}

export interface SpeedometerCheck {
  ok: boolean;
  /** Indicated minus true, km/h. */
  differenceKmh: number;
  /** Largest difference allowed, km/h; the smallest is 0. */
  limitKmh: number;
}

/** UN R39: 0 <= indicated - true <= 0.1 true + 4 km/h (from memory). Both speeds must be finite and not negative. */
export function checkSpeedometer(indicatedKmh: number, trueKmh: number): SpeedometerCheck {
  const differenceKmh = indicatedKmh - trueKmh;
  const limitKmh = 0.1 * trueKmh + 4;
  return { ok: differenceKmh >= 0 && differenceKmh <= limitKmh, differenceKmh, limitKmh };
}

function isPositive(value: number): boolean {
  return Number.isFinite(value) && value > 0;
}

function badRatio(what: string, value: number): Decoded<never> {
  return refused('ratio_invalid', `${what} = ${value}`, 'Give a positive number, for example 3.73.');
}
