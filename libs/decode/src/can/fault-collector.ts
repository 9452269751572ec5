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

/** Collects diagnostic messages (DM1, DM2, DM5, DM6, DM12, DM21, DM23, DM26, DM28) and the VIN, by bus and source address. */
export function createFaultCollector(onProblem: (problem: DecodeProblem) => void): {
  wants(pgn: number): boolean;
  add(message: J1939Message, bus: string, timeMs: number): void;
  collected(): Collected;
} {
  const lamps = new Map<string, CaptureReport['lamps'][number]>();
  const faults = new Map<string, CaptureReport['faults'][number]>();
  const readiness = new Map<string, CaptureReport['readiness'][number]>();
  const counters = new Map<string, CaptureReport['counters'][number]>();
  let vin: string | null = null;

  const addList = (dm: DmName, { source, data }: J1939Message, bus: string, timeMs: number): void => {
    const list = decodeFaultList(data);
    if (!list.ok) {
      onProblem(list.problem);
      return;
    }
    const key = `${dm} ${bus} ${source}`;
    const entry = lamps.get(key) ?? { dm, bus, source, messages: 0, states: [] };
    lamps.set(key, entry);
    entry.messages++;
    const bytes = hexFromBytes(data.subarray(0, 2));
    const state = entry.states.find((known) => known.bytes === bytes);
    if (state) state.messages++;
    else entry.states.push({ bytes, lamps: list.value.lamps, messages: 1 });
    for (const fault of list.value.faults) {
      const code = faultName(fault);
      const known = faults.get(`${key} ${code}`);
      if (known) Object.assign(known, { fault, messages: known.messages + 1, lastMs: timeMs });
      else if (faults.size < MAX_FAULTS) {
        faults.set(`${key} ${code}`, { dm, bus, source, code, fault, messages: 1, firstMs: timeMs, lastMs: timeMs });
      }
    }
  };

  return {
    wants: (pgn) => pgn === PGN_VIN || dmOfPgn(pgn) !== null,
    add(message, bus, timeMs) {
      const { source, data } = message;
      const dm = dmOfPgn(message.pgn);
      if (dm === null) {
        vin ??= vinFromText(data);
      } else if (isFaultListDm(dm)) {
        addList(dm, message, bus, timeMs);
      } else if (dm === 'DM5') {
        const dm5 = decodeDm5(data);
        if (dm5.ok) readiness.set(`${bus} ${source}`, { bus, source, dm5: dm5.value });
        else onProblem(dm5.problem);
      } else {
        const read = dm === 'DM21' ? decodeDm21(data) : decodeDm26(data);
        counters.set(`${dm} ${bus} ${source}`, { bus, source, dm, counters: read });
      }
    },
    collected: () => ({
      lamps: [...lamps.values()],
      faults: [...faults.values()],
      readiness: [...readiness.values()],
      counters: [...counters.values()],
      vin,
    }),
  };
}

function vinFromText(data: Uint8Array): string | null {
  const text = String.fromCharCode(...data.subarray(0, 200)).split('*')[0] ?? '';
  return isVinWellFormed(text) ? text.trim().toUpperCase() : null;
}
