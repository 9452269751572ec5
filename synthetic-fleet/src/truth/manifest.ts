/** `manifest.json`: every file of the fleet, how its sender would upload it, and what must come of it. */
export interface Manifest {
  version: 1;
  files: (LogEntry | SnapshotEntry)[];
}

export interface SnapshotEntry {
  kind: 'snapshot';
  file: string;
  vehicle: string;
  at: string;
}

export interface LogEntry {
  kind: 'log';
  file: string;
  /** The vehicle it is really from. */
  vehicle: string;
  recorder: string;
  dialect: string;
  rateHz: number;
  /** First and last instant as the recorder's clock had them, UTC. */
  firstAt: string | null;
  lastAt: string | null;
  /** Complete rows written, damaged ones included; a cut last row is not one of them. */
  rows: number;
  bytes: number;
  channels: { header: string; signal: string; unit: string }[];
  /** Parameters of the upload; nothing else is known to the sender. */
  send: { vehicle?: string; recorder?: string; timeZone?: string; recordedAt?: string; fileName?: string };
  /** When the sender gets to it. */
  sentAt: string;
  late: boolean;
  duplicateOf: string | null;
  cutLastRow: boolean;
  damagedRows: number;
  restarts: number;
  backwardSteps: number;
  expect: {
    outcome: 'stored' | 'duplicate' | 'waiting';
    /** Problem code of the waiting upload. */
    waitsFor: 'vehicle_missing' | 'vehicle_contradiction' | null;
    /** Rows that must be in the lake once it is stored (or released). */
    rowsKept: number;
    /** Rows that must be rejected: damaged ones and the cut one. */
    rowsRejected: number;
  };
}
