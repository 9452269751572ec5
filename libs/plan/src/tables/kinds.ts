import type { InspectionKind } from '@tallybay/contracts';

const PRACTICE = 'common practice, no source; edit to the shop’s own figures';

/**
 * Inspections that a shop starts with. Minutes, lead times and costs are judgement, not taken from a source; every row can
 * be edited. Costs are in the shop's own units: only their ratios matter.
 */
export const STANDARD_KINDS: readonly InspectionKind[] = [
  kind('cooling-system', 'Cooling system: level, leaks, thermostat, fan, pressure test', 150, [], {
    askedBy: [
      { source: 'heat', match: 'coolant' },
      { source: 'codes', match: 'p0217' },
      { source: 'codes', match: 'p0128' },
      { source: 'codes', match: 'spn 110' },
    ],
    withinDays: 7,
    costPerDay: 60,
    latePerDay: 80,
  }),
  kind('oil-and-transmission', 'Engine oil and transmission: level, condition, coolers', 90, [], {
    askedBy: [
      { source: 'heat', match: 'oil' },
      { source: 'heat', match: 'transmission' },
    ],
    withinDays: 10,
    costPerDay: 40,
    latePerDay: 50,
  }),
  kind('intake-and-exhaust', 'Charge air, turbocharger and exhaust', 120, [], {
    askedBy: [
      { source: 'heat', match: 'charge air' },
      { source: 'heat', match: 'exhaust' },
      { source: 'codes', match: 'p0127' },
    ],
    withinDays: 14,
    costPerDay: 25,
    latePerDay: 30,
  }),
  kind('code-diagnosis', 'Diagnosis of trouble codes', 60, ['diagnostics'], {
    askedBy: [{ source: 'codes' }],
    withinDays: 14,
    costPerDay: 25,
    latePerDay: 25,
  }),
  kind('returning-code', 'Returning code: find the cause, not the code', 120, ['diagnostics'], {
    askedBy: [{ source: 'returning_code' }],
    withinDays: 14,
    costPerDay: 30,
    latePerDay: 30,
  }),
  kind('emissions-readiness', 'Emissions readiness: lamp, codes, monitors before the inspection', 60, ['diagnostics'], {
    askedBy: [{ source: 'readiness' }],
    withinDays: 30,
    costPerDay: 10,
    latePerDay: 60,
  }),
  kind('emissions-inspection', 'Emissions inspection', 45, ['emissions'], {
    askedBy: [{ source: 'inspection_due' }],
    withinDays: 30,
    costPerDay: 2,
    latePerDay: 120,
  }),
  kind('sensor', 'Sensor and its wiring', 45, ['diagnostics'], {
    askedBy: [{ source: 'sensor' }],
    withinDays: 14,
    costPerDay: 12,
    latePerDay: 15,
  }),
  kind('service', 'Service', 120, [], {
    askedBy: [{ source: 'calendar' }],
    withinDays: 21,
    costPerDay: 4,
    latePerDay: 20,
    every: { days: 365, engineHours: 400, km: 15_000 },
  }),
];

type Rest = Pick<InspectionKind, 'askedBy' | 'withinDays' | 'costPerDay' | 'latePerDay' | 'every'>;

function kind(id: string, label: string, minutes: number, skills: string[], rest: Rest): InspectionKind {
  return { id, label, minutes, skills, features: [], leadDays: 1, source: PRACTICE, ...rest };
}
