import { pidName } from './pid-table.js';

/**
 * PIDs of a support bitmap: A7 = PID + 1 … D0 = PID + 32; D0 says that the next bitmap exists.
 * Source: SAE J1979, read in public reprints. Short input gives what its bits say.
 */
export function decodeSupportedPids(basePid: number, bytes: Uint8Array): string[] {
  const names: string[] = [];
  for (let bit = 0; bit < 32; bit++) {
    const byte = bytes[bit >> 3] ?? 0;
    if ((byte >> (7 - (bit & 7))) & 1) names.push(pidName(basePid + bit + 1));
  }
  return names;
}

/** The four bytes of a bitmap; PIDs outside basePid + 1 … basePid + 32 are ignored. */
export function encodeSupportedPids(basePid: number, pids: readonly string[]): Uint8Array {
  const bytes = new Uint8Array(4);
  for (const name of pids) {
    const bit = Number.parseInt(name, 16) - basePid - 1;
    if (bit >= 0 && bit < 32) bytes[bit >> 3] = (bytes[bit >> 3] ?? 0) | (0x80 >> (bit & 7));
  }
  return bytes;
}
