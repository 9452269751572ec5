import type { EarlierDriveFact, VehicleFacts } from '../facts.js';

/** Drives closer than this are one trip: a fuel stop, or one drive that was uploaded in parts. */
const SAME_TRIP_MS = 10 * 60_000;

/** The week's drives in the shape in which earlier ones are kept. */
export const weekGlances = (facts: VehicleFacts): EarlierDriveFact[] =>
  facts.drives.map((drive) => {
    const rows = facts.signals.filter((row) => row.driveId === drive.driveId && row.max !== null && row.first !== null);
    const glances = rows.map(({ signal, first, mean, max, held }) => {
      const glance = { first: first!, mean, max: max!, ...(held === undefined ? {} : { held }) };
      return [signal, glance] as const;
    });
    return { ...drive, signals: Object.fromEntries(glances) };
  });

/** Oldest first; each a non-empty run of drives. */
export function tripsOf(drives: readonly EarlierDriveFact[]): EarlierDriveFact[][] {
  const ordered = [...drives].sort((a, b) => a.startedMs - b.startedMs || (a.driveId < b.driveId ? -1 : 1));
  const trips: EarlierDriveFact[][] = [];
  for (const drive of ordered) {
    const last = trips.at(-1)?.at(-1);
    if (last && drive.startedMs - last.endedMs <= SAME_TRIP_MS) trips.at(-1)!.push(drive);
    else trips.push([drive]);
  }
  return trips;
}
