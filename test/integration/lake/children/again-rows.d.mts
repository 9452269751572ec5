export const UPLOADS: string[];
export function vehicleOf(uploadId: string, attempt: number): string;
/** The parts that tests look at; the whole is a snapshot as `POST /v1/snapshots` takes it. */
export function snapshotOf(attempt: number): { codes: { code: string; occurrences: number }[] };
