// Words of the limits on any signal, low and high.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;

const words = (name: string): string => name.replaceAll('_', ' ');

export const enSignalLimits = {
  views: 'Kinds of limits',
  temperatures: 'Temperatures that rank',
  anySignal: 'Any signal, low and high',
  lead: 'What a new upload has beyond one of these is kept as a crossing and sent to other systems as an event. It changes no rank. Temperatures keep their stages as limits from caution on, unless they have high limits of their own here.',
  caution: 'The standard limits are common practice. Where the shop has the maker’s data, that data prevails.',
  what: 'the limits',
  listed: (count: number) => plural(count, 'limit', 'limits'),
  none: 'No limit is set. Add one below.',
  columns: {
    signal: 'Signal',
    limit: 'Limit',
    who: 'For',
    when: 'When',
    source: 'Where the number comes from',
    edit: '',
  },
  high: 'at or above',
  low: 'at or below',
  directions: { high: 'High: at or above', low: 'Low: at or below' },
  during: { running: 'while the engine runs', always: 'whenever the recorder runs' },
  who: ({ vehicle, vehicleClass }: { vehicle?: string | undefined; vehicleClass: string }) =>
    vehicle
      ? `vehicle ${vehicle}`
      : vehicleClass === '*'
        ? 'every class without its own'
        : `class ${words(vehicleClass)}`,
  fineprint: (hysteresis: string, seconds: number) => `over when back by ${hysteresis}; at least ${seconds} s`,
  change: 'Change',
  changeOf: (what: string) => `Change ${what}`,
  remove: 'Take away',
  removeOf: (what: string) => `Take away ${what}`,
  add: 'Add a limit',
  changing: 'Change the limit',
  fields: {
    signal: 'Signal',
    forWhom: 'For',
    direction: 'Side',
    stage: 'Stage',
    value: 'Limit',
    unit: 'Unit',
    hysteresis: 'Back by',
    hysteresisHint: 'So far past the limit the value must come back before a crossing is over, in the same unit.',
    minSeconds: 'At least seconds',
    minSecondsHint: 'Shorter crossings are dropped.',
    during: 'Counts',
    source: 'Where the number comes from',
  },
  groups: { classes: 'Classes', vehicles: 'Vehicles' },
  ownSource: 'set by the shop',
  problems: {
    value: 'Give the limit as a number.',
    hysteresis: 'Give a number of 0 or more.',
    minSeconds: 'Give seconds from 0 to 86,400.',
    twice: 'There is such a limit for the same vehicles already. Change that one.',
  },
  put: 'Add to the list',
  putBack: 'Change it in the list',
  cancel: 'Leave it as it was',
  trial: 'Try before saving',
  trialLead: 'What these limits would have found in the logs of a past week, beside those in force. Nothing is saved.',
  trialUnchanged: 'These are the limits in force. Change one above to see what differs.',
  noWeeks: 'Once a week has been ranked, limits can be tried on it here.',
  nothing: (week: string) => `Neither these limits nor those in force were crossed in ${week}.`,
  found: (count: number, week: string) => `${plural(count, 'vehicle', 'vehicles')} crossed a limit in ${week}.`,
  trialColumns: { vehicle: 'Vehicle', signal: 'Signal', crossings: 'Crossings', time: 'Time beyond' },
  inForceToThese: 'With the limits in force → with these',
  time: (seconds: number) =>
    seconds < 90
      ? `${Math.round(seconds)} s`
      : `${(seconds / 60).toLocaleString('en', { maximumFractionDigits: 1 })} min`,
  save: 'Save; used from the next upload on',
};
