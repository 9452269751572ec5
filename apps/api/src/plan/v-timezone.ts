import { DateTime } from 'luxon';

const MS_PER_HOUR = 3_600_000;

/**
 * A VTIMEZONE component (RFC 5545, 3.6.5) with every change of the offset in the given years, as the runtime's zone tables
 * have them; each is one observance with its own start, so that no rule has to be guessed.
 */
export function vTimezone(zone: string, { from, to }: { from: number; to: number }): string {
  const start = DateTime.fromObject({ year: from - 1, month: 1, day: 1 }, { zone });
  const end = DateTime.fromObject({ year: to + 1, month: 1, day: 1 }, { zone });
  const lines = ['BEGIN:VTIMEZONE', `TZID:${zone}`, ...observance(start, start.offset)];
  let before = start.offset;
  for (let ms = start.toMillis(); ms < end.toMillis(); ms += 24 * MS_PER_HOUR) {
    const next = DateTime.fromMillis(ms + 24 * MS_PER_HOUR, { zone });
    if (next.offset === before) continue;
    lines.push(...observance(changeIn(ms, zone, before), before));
    before = next.offset;
  }
  return [...lines, 'END:VTIMEZONE'].join('\r\n');
}

/** First minute with another offset within the day that starts at `ms`. */
function changeIn(ms: number, zone: string, before: number): DateTime {
  let low = ms;
  let high = ms + 24 * MS_PER_HOUR;
  while (high - low > 60_000) {
    const middle = Math.floor((low + high) / 120_000) * 60_000;
    if (DateTime.fromMillis(middle, { zone }).offset === before) low = middle;
    else high = middle;
  }
  return DateTime.fromMillis(high, { zone });
}

/** DTSTART of an observance is written in the local time before the change (RFC 5545, 3.6.5). */
function observance(at: DateTime, offsetBefore: number): string[] {
  const kind = at.isInDST ? 'DAYLIGHT' : 'STANDARD';
  const local = at.toUTC().plus({ minutes: offsetBefore }).toFormat("yyyyMMdd'T'HHmmss");
  return [
    `BEGIN:${kind}`,
    `DTSTART:${local}`,
    `TZOFFSETFROM:${offsetText(offsetBefore)}`,
    `TZOFFSETTO:${offsetText(at.offset)}`,
    `TZNAME:${at.offsetNameShort ?? kind}`,
    `END:${kind}`,
  ];
}

function offsetText(minutes: number): string {
  const size = Math.abs(minutes);
  return `${minutes < 0 ? '-' : '+'}${String(Math.floor(size / 60)).padStart(2, '0')}${String(size % 60).padStart(2, '0')}`;
}
