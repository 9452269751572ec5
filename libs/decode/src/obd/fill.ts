/** Bytes that controllers fill a frame up with (common practice, no source). */
const FILL_BYTES: readonly number[] = [0x00, 0x55, 0xaa, 0xcc, 0xff];

/** Whether all the bytes are one repeated filler; no bytes are, too. */
export function isFill(bytes: Uint8Array): boolean {
  const [fill] = bytes;
  return fill === undefined || (FILL_BYTES.includes(fill) && bytes.every((byte) => byte === fill));
}
