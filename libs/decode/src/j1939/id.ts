/** A 29-bit identifier, SAE J1939-21: priority 3 bits, extended and data page, PDU format, PDU specific, source address. */
export interface J1939Id {
  priority: number;
  pgn: number;
  source: number;
  /** 255 = everyone; PDU format below 240 names one address. */
  destination: number;
}

export const GLOBAL_ADDRESS = 255;

export function j1939IdFromNumber(id: number): J1939Id {
  const format = (id >>> 16) & 0xff;
  const specific = (id >>> 8) & 0xff;
  const page = (id >>> 24) & 0x03;
  const addressed = format < 240;
  return {
    priority: (id >>> 26) & 0x07,
    pgn: (page << 16) | (format << 8) | (addressed ? 0 : specific),
    source: id & 0xff,
    destination: addressed ? specific : GLOBAL_ADDRESS,
  };
}

export function j1939IdToNumber({ priority, pgn, source, destination }: J1939Id): number {
  const specific = ((pgn >> 8) & 0xff) < 240 ? destination : pgn & 0xff;
  return (((priority & 7) << 26) | ((pgn & 0x3ff00) << 8) | ((specific & 0xff) << 8) | (source & 0xff)) >>> 0;
}
