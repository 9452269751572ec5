import { TWO_BIT_STATES, type TwoBitState } from './spn.js';

/** One diagnostic trouble code of SAE J1939-73. */
export interface J1939Fault {
  /** Null when the conversion method bit is set: then the order of the SPN's bytes is not defined, see `raw`. */
  spn: number | null;
  fmi: number;
  /** 0 to 126; null = not available. */
  occurrences: number | null;
  /** 0 = method 4, the current one; 1 = methods 1 to 3. */
  conversionMethod: 0 | 1;
  /** The four bytes in hexadecimal. */
  raw: string;
  /** The SPN if the bytes were laid out by method 4. */
  spnByMethod4: number;
}

export type LampFlash = 'slow' | 'fast' | 'none' | 'reserved';

export interface J1939Lamps {
  mil: TwoBitState;
  redStop: TwoBitState;
  amberWarning: TwoBitState;
  protect: TwoBitState;
}

export interface LampStatus {
  lamps: J1939Lamps;
  /** 00 slow flash, 01 fast flash, 10 reserved, 11 not flashing or not available. */
  flash: Record<keyof J1939Lamps, LampFlash>;
}

const FLASH: readonly LampFlash[] = ['slow', 'fast', 'reserved', 'none'];

/** Lamps, most significant bits first: malfunction, red stop, amber warning, protect. Source: SAE J1939-73 (read). */
export function decodeLamps(state: number, flash: number): LampStatus {
  const pick = <T>(byte: number, shift: number, names: readonly T[]): T => names[(byte >> shift) & 3] as T;
  return {
    lamps: {
      mil: pick(state, 6, TWO_BIT_STATES),
      redStop: pick(state, 4, TWO_BIT_STATES),
      amberWarning: pick(state, 2, TWO_BIT_STATES),
      protect: pick(state, 0, TWO_BIT_STATES),
    },
    flash: {
      mil: pick(flash, 6, FLASH),
      redStop: pick(flash, 4, FLASH),
      amberWarning: pick(flash, 2, FLASH),
      protect: pick(flash, 0, FLASH),
    },
  };
}

/**
 * Four bytes a fault: SPN low; SPN middle; [SPN high 3 bits, FMI 5 bits]; [conversion method, occurrence count 7 bits].
 * SPN 0 with FMI 0 is no fault; FF FF FF FF is fill; a rest under four bytes is fill. Source: SAE J1939-73 (read).
 */
export function decodeFaults(bytes: Uint8Array): J1939Fault[] {
  const faults: J1939Fault[] = [];
  for (let at = 0; at + 4 <= bytes.length; at += 4) {
    const [low, middle, high, last] = bytes.subarray(at, at + 4) as unknown as [number, number, number, number];
    const spn = low | (middle << 8) | ((high >> 5) << 16);
    const fmi = high & 0x1f;
    if (spn === 0 && fmi === 0) continue;
    if (low === 0xff && middle === 0xff && high === 0xff && last === 0xff) continue;
    const conversionMethod = last & 0x80 ? 1 : 0;
    const count = last & 0x7f;
    faults.push({
      spn: conversionMethod === 0 ? spn : null,
      fmi,
      occurrences: count === 127 ? null : count,
      conversionMethod,
      raw: [low, middle, high, last].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(''),
      spnByMethod4: spn,
    });
  }
  return faults;
}

/** Inverse of one fault with method 4. */
export function encodeFault(spn: number, fmi: number, occurrences: number | null): Uint8Array {
  return Uint8Array.of(
    spn & 0xff,
    (spn >> 8) & 0xff,
    (((spn >> 16) & 7) << 5) | (fmi & 0x1f),
    (occurrences ?? 127) & 0x7f,
  );
}

/** `SPN 110 FMI 0`; a fault of an old conversion method keeps its bytes: `SPN ? (6E0000) FMI 0`. */
export function faultName({ spn, fmi, raw }: J1939Fault): string {
  return spn === null ? `SPN ? (${raw.slice(0, 6)}) FMI ${fmi}` : `SPN ${spn} FMI ${fmi}`;
}

/** Failure mode identifiers in our words. Source: SAE J1939-73, read in public makers' manuals. */
export const FMI_TEXT: readonly string[] = [
  'value far above normal, most severe',
  'value far below normal, most severe',
  'value erratic or wrong',
  'voltage above normal or short to supply',
  'voltage below normal or short to ground',
  'current below normal or circuit open',
  'current above normal or circuit grounded',
  'mechanical part does not respond',
  'frequency or pulse abnormal',
  'update rate abnormal',
  'rate of change abnormal',
  'root cause unknown',
  'device or component bad',
  'out of calibration',
  'special instructions',
  'value above normal, least severe',
  'value above normal, moderately severe',
  'value below normal, least severe',
  'value below normal, moderately severe',
  'data received over the network in error',
  'value drifted high',
  'value drifted low',
  ...Array.from({ length: 9 }, () => 'reserved'),
  'condition exists',
];
