// What each decode of a snapshot says, so that rows of two of them can be told apart.
export const UPLOADS = ['u1', 'u2', 'u3'];

/** The last one is found to be another vehicle's each time. */
export const vehicleOf = (uploadId, attempt) => (uploadId === 'u3' && attempt % 2 === 1 ? 'KV-B' : 'KV-A');

/** Every third has no codes, and therefore no file of them. */
export const snapshotOf = (attempt) => ({
  version: 1,
  time: '2026-10-05T08:00:00Z',
  odometerKm: attempt,
  codes: Array.from({ length: attempt % 3 }, (_, n) => ({
    code: `P030${n}`,
    status: 'confirmed',
    occurrences: attempt,
  })),
});
