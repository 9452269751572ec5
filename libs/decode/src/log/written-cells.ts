import { type NumberMarks, readWritten } from '../csv/written-numbers.js';
import { signalRow } from '../signals/catalogue.js';
import { conversionFor, findUnit } from '../units/convert.js';
import type { Quantity } from '../units/units.js';
import { hmsOf } from './time-columns.js';
import type { LogPlan } from './types.js';

/** Texts kept per column; values of a log repeat, and reading one by its text costs as much as a row. */
const KEPT_TEXTS = 4096;

/** Words for on and off. English, German, Spanish; trade usage, no source. */
const STATES: ReadonlyMap<string, number> = new Map([
  ...'on true yes active engaged an ein ja aktiv si sí activo'.split(' ').map((word) => [word, 1] as const),
  ...'off false no inactive disengaged aus nein inaktiv inactivo'.split(' ').map((word) => [word, 0] as const),
]);

interface Column {
  isOnOff: boolean;
  quantity: Quantity;
  unitId: string;
  marks: NumberMarks;
  values: Map<string, number>;
}

/**
 * Number cells that are not plain digits: thousands in groups, a unit behind the number, a minus sign behind it. A unit
 * other than the channel's is no number: reading it as one would change what it means.
 */
export class WrittenCells {
  private readonly decoder: TextDecoder;
  private readonly columns: (Column | null)[];

  constructor(plan: LogPlan, encoding: string) {
    this.decoder = new TextDecoder(encoding);
    this.columns = plan.channels.map(({ signal, sourceUnit, groupedByPoint }) => {
      if (signal === null) return null;
      const { quantity, unit, isOnOff } = signalRow(signal);
      const unitId = (sourceUnit === null ? null : findUnit(sourceUnit, quantity)?.id) ?? unit;
      const marks = { comma: plan.dialect?.decimal === ',', groupedByPoint: groupedByPoint ?? false };
      return { isOnOff, quantity, unitId, marks, values: new Map() };
    });
  }

  /** The cell's number in the channel's own unit; NaN where it is none. */
  read(bytes: Uint8Array, start: number, end: number, channel: number): number {
    const column = this.columns[channel];
    if (!column || end - start > 128) return Number.NaN;
    const text = this.decoder.decode(bytes.subarray(start, end));
    const known = column.values.get(text);
    if (known !== undefined) return known;
    const value = numberOf(text, column);
    if (column.values.size >= KEPT_TEXTS) column.values.clear();
    column.values.set(text, value);
    return value;
  }
}

/** A duration as `h:mm:ss`, in seconds. Two parts alone may be hours and minutes as well, and are no number. */
function passedSeconds(text: string): number {
  return /:.*:/.test(text) ? hmsOf(text) / 1000 : Number.NaN;
}

function numberOf(text: string, { isOnOff, quantity, unitId, marks }: Column): number {
  const state = isOnOff ? STATES.get(text.trim().toLowerCase()) : undefined;
  if (state !== undefined) return state;
  const seconds = quantity === 'time' ? passedSeconds(text) : Number.NaN;
  if (!Number.isNaN(seconds)) return seconds * (conversionFor('s', unitId)?.scale ?? Number.NaN);
  const written = readWritten(text, marks);
  if (!written) return Number.NaN;
  const isSame = written.unit === '' || findUnit(written.unit, quantity)?.id === unitId;
  return isSame ? written.value : Number.NaN;
}
