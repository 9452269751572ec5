import type { DecodeProblem } from '../decode-problem.js';
import {
  type DmName,
  decodeDm5,
  decodeDm21,
  decodeDm26,
  decodeFaultList,
  dmOfPgn,
  isFaultListDm,
} from '../j1939/dm.js';
import { faultName } from '../j1939/fault.js';
import type { J1939Message } from '../j1939/transport.js';
import { hexFromBytes } from '../obd/hex.js';
import { isVinWellFormed } from '../vin/vin.js';
import type { CaptureReport } from './capture-report.js';

/** Vehicle identification, ended by `*` (SAE J1939-71, from memory). */
const PGN_VIN = 65_260;

/** Different faults kept; a vehicle has tens, so more is noise on the bus. */
const MAX_FAULTS = 2_000;

type Collected = Pick<CaptureReport, 'lamps' | 'faults' | 'readiness' | 'counters' | 'vin'>;

type Entry<K extends 'lamps' | 'faults' | 'readiness' | 'counters'> = CaptureReport[K][number];

/** Collects diagnostic messages (DM1, DM2, DM5, DM6, DM12, DM21, DM23, DM26, DM28) and the VIN, by bus and source address. */
export class FaultCollector {
  private readonly lamps = new Map<string, Entry<'lamps'>>();
  private readonly faults = new Map<string, Entry<'faults'>>();
  private readonly readiness = new Map<string, Entry<'readiness'>>();
  private readonly counters = new Map<string, Entry<'counters'>>();
  private vin: string | null = null;

  constructor(private readonly onProblem: (problem: DecodeProblem) => void) {}

  wants(pgn: number): boolean {
    return pgn === PGN_VIN || dmOfPgn(pgn) !== null;
  }

  add(message: J1939Message, bus: string, timeMs: number): void {
    const { source, data, pgn } = message;
    const dm = dmOfPgn(pgn);
    if (dm === null) {
      this.vin ??= vinFromText(data);
    } else if (isFaultListDm(dm)) {
      this.addList({ dm, bus, source }, data, timeMs);
    } else if (dm === 'DM5') {
      const dm5 = decodeDm5(data);
      if (dm5.ok) this.readiness.set(`${bus} ${source}`, { bus, source, dm5: dm5.value });
      else this.onProblem(dm5.problem);
    } else {
      const counters = dm === 'DM21' ? decodeDm21(data) : decodeDm26(data);
      this.counters.set(`${dm} ${bus} ${source}`, { bus, source, dm, counters });
    }
  }

  collected(): Collected {
    return {
      lamps: [...this.lamps.values()],
      faults: [...this.faults.values()],
      readiness: [...this.readiness.values()],
      counters: [...this.counters.values()],
      vin: this.vin,
    };
  }

  private addList(from: { dm: DmName; bus: string; source: number }, data: Uint8Array, timeMs: number): void {
    const list = decodeFaultList(data);
    if (!list.ok) {
      this.onProblem(list.problem);
      return;
    }
    const key = `${from.dm} ${from.bus} ${from.source}`;
    const entry = this.lamps.get(key) ?? { ...from, messages: 0, states: [] };
    this.lamps.set(key, entry);
    entry.messages++;
    const bytes = hexFromBytes(data.subarray(0, 2));
    const state = entry.states.find((known) => known.bytes === bytes);
    if (state) state.messages++;
    else entry.states.push({ bytes, lamps: list.value.lamps, messages: 1 });
    for (const fault of list.value.faults) this.addFault(key, { ...from, code: faultName(fault), fault }, timeMs);
  }

  private addFault(
    key: string,
    found: Pick<Entry<'faults'>, 'dm' | 'bus' | 'source' | 'code' | 'fault'>,
    timeMs: number,
  ) {
    const faultKey = `${key} ${found.code}`;
    const known = this.faults.get(faultKey);
    if (known) Object.assign(known, { fault: found.fault, messages: known.messages + 1, lastMs: timeMs });
    else if (this.faults.size < MAX_FAULTS) {
      this.faults.set(faultKey, { ...found, messages: 1, firstMs: timeMs, lastMs: timeMs });
    }
  }
}

function vinFromText(data: Uint8Array): string | null {
  const text = String.fromCharCode(...data.subarray(0, 200)).split('*')[0] ?? '';
  return isVinWellFormed(text) ? text.trim().toUpperCase() : null;
}
