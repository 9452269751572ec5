import type { Decision } from '@tallybay/contracts';
import type { UploadRow } from '@tallybay/registry';

const FORMER = 'former vehicle';

/** Noted among the upload's decisions, where people see it and a crash does not lose it. */
export const formerVehicle = (vehicle: string, next: string): Decision => ({
  what: FORMER,
  value: vehicle,
  why: `decoded again for ${next}`,
});

/** Vehicles under which earlier decodes of the upload may have put rows. */
export const formerVehicles = (upload: Pick<UploadRow, 'decisions'>): string[] => [
  ...new Set(upload.decisions.filter((decision) => decision.what === FORMER).map((decision) => decision.value)),
];
