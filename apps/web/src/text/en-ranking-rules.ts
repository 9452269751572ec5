// Words of the ranking's rules: weights, who is left out, and what the past weeks would have been.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;

export const enRankingRules = {
  title: 'Ranking rules',
  lead: 'What the weekly ranking counts, and whom it leaves out. Changes are tried on past weeks before they are saved, and are used from the next ranking on.',
  theRules: 'the rules of the ranking',
  version: (version: number, at: string | null, by: string | null) =>
    version === 0
      ? 'Nobody has changed this yet.'
      : `Version ${version}${by ? `, by ${by}` : ''}${at ? `, ${new Date(at).toLocaleString('en', { dateStyle: 'medium', timeStyle: 'short' })}` : ''}.`,
  weights: 'How much each component counts',
  weightsLead:
    'From 0 (not at all) to 1. The score is 1 minus the product of (1 - weight × component): a severe component is not averaged away by the others.',
  weightOf: (component: string) => `Weight of ${component.toLowerCase()}`,
  weightLimits: 'A number from 0 to 1',
  limits: 'Temperature limits',
  limitsLead: 'From which temperature on time counts as heat is set by signal and vehicle class on its own page.',
  goLimits: 'To the temperature limits',
  exclusions: 'Left out for a while',
  exclusionsLead:
    'A vehicle in the body shop, or a component whose sensor is being repaired. It stays on the list as left out, with what is known against it. Leaving out is no all-clear.',
  none: 'Nobody is left out.',
  vehicle: 'Vehicle',
  what: 'What',
  whole: 'whole vehicle',
  reason: 'Reason',
  from: 'From',
  until: 'Last day',
  span: (from: string, until: string) => `${from} to ${until}`,
  over: 'over',
  remove: 'Take off the list',
  add: 'Leave out',
  addTitle: 'Leave out a vehicle or a component',
  noSuchVehicle: 'Not a registered vehicle',
  untilBeforeFrom: 'Before the first day',
  heldHint: 'Counts for a week when it holds on the week’s last day.',
  preview: 'Try before saving',
  previewLead: 'What these rules would have made of past weeks. Nothing is saved or published.',
  previewUnchanged: 'Change something above, then see what it would have made of past weeks.',
  weeks: 'Past weeks',
  weeksOf: (count: number) => plural(count, 'newest week', 'newest weeks'),
  run: 'Try on past weeks',
  running: 'Trying …',
  noWeeks: 'No week is over that has data yet. Send the first logs; then changes can be tried here.',
  noDifference: (week: string) => `In ${week} nothing would have changed.`,
  differing: (count: number, of: number, week: string) =>
    `${week}: ${plural(count, 'vehicle', 'vehicles')} of ${of} would stand differently`,
  up: (ranks: number) => `up ${ranks}`,
  down: (ranks: number) => `down ${ranks}`,
  same: 'same rank',
  notRanked: 'not ranked',
  unsaved: 'These rules are not saved yet',
  by: 'Your name',
  byHint: 'Kept in the history of the rules.',
  save: 'Save; used from the next ranking on',
  reset: 'Undo the changes',
  wear: 'Wear of the week',
  cycles: (cycles: number, largest: string, drives: number) =>
    `${plural(cycles, 'thermal cycle', 'thermal cycles')} in ${plural(drives, 'drive', 'drives')}, the largest over ${largest}`,
  noCycles: 'no thermal cycle of 20 K or more',
  lifeUsed: (share: string) => `${share} of the fluid’s life used`,
};
