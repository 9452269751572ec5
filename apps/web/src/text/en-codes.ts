// Words of the fleet's codes, and of the forecast on the readiness page.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;

const list = (items: readonly string[]): string => new Intl.ListFormat('en', { type: 'conjunction' }).format(items);

const percent = (share: number): string => `${Math.round(share * 100)} %`;

/** Small chances without a row of zeros that nobody counts. */
const chanceText = (p: number): string =>
  p < 0.001 ? 'less than 1 in 1,000' : `about 1 in ${Math.max(1, Math.round(1 / p)).toLocaleString('en')}`;

export const enCodes = {
  title: 'Codes of the fleet',
  what: 'the codes of the fleet',
  noVehicles: 'No vehicle is registered',
  noVehiclesAdvice:
    'Whoever runs the server registers the fleet with `tallybay fleet import`; its codes appear here then.',
  noneRead: 'No codes have been read yet',
  noneReadAdvice:
    'Send snapshots of codes and monitors (page Upload, or `tallybay upload`). Until then nothing is known, which is not the same as no codes.',
  none: (read: number) => `No codes in ${plural(read, 'vehicle that was read', 'vehicles that were read')}.`,
  read: (read: number, of: number) =>
    read === of
      ? `Codes of all ${plural(of, 'vehicle', 'vehicles')} were read in the last 400 days.`
      : `Codes of ${read.toLocaleString('en')} of ${plural(of, 'vehicle', 'vehicles')} were read in the last 400 days; nothing is known of the others.`,
  filters: { vehicleClass: 'Class', depot: 'Depot', show: 'Show', find: 'Find code, word or vehicle', all: 'All' },
  show: { all: 'Every code seen', returning: 'Codes that return', now: 'Present now' },
  list: {
    caption: (count: number, of: number) =>
      count === of
        ? `${plural(of, 'code', 'codes')}, those that return most first`
        : `${count.toLocaleString('en')} of ${plural(of, 'code', 'codes')} shown`,
    code: 'Code',
    now: 'Vehicles now',
    nowText: (active: number, ever: number) => `${active} of ${ever.toLocaleString('en')}`,
    nowNote: 'that had it',
    d30: 'Back in 30 d',
    d90: 'Back in 90 d',
    d365: 'Back in 365 d',
    noneFits: 'No code fits these filters',
    open: (code: string) => `Where ${code} is`,
  },
  detail: {
    title: (code: string) => `Where ${code} is`,
    close: 'Close',
    notThere: (code: string) => `${code} was not seen in these vehicles`,
    notThereAdvice: 'Look at every class and depot, or at another code.',
    vehicle: 'Vehicle',
    state: 'State',
    lastReturn: 'Last return',
    never: 'has not returned',
    returned: (date: string, after: 'gone' | 'cleared', days: number) =>
      `${date}, ${plural(Math.round(days), 'day', 'days')} after it was last seen; it had ${after === 'cleared' ? 'been cleared' : 'gone by itself'}`,
    km: (distance: string) => `${distance} later`,
    warmUps: (count: number) => `${plural(count, 'warm-up', 'warm-ups')} after the clear`,
    afterRepair: (date: string, label: string) => `came back after the repair of ${date} (${label})`,
    cleared: (cleared: number, back: number) => `cleared ${cleared} ×, back ${back} ×`,
    returns: (count: number) => `${plural(count, 'return', 'returns')} in 365 days`,
    module: (module: string) => `module ${module}`,
    seen: (first: string, last: string) => `seen ${first} to ${last}`,
  },
  standing: {
    confirmed: 'confirmed',
    permanent: 'permanent',
    pending: 'pending',
    gone: 'gone',
    cleared: 'cleared',
  },
  patterns: {
    title: 'Cleared without repair',
    lead: 'Clearing takes away the evidence and sets the monitors back; what set the code is still there.',
    none: 'No code was cleared again and again, or shortly before an inspection.',
    kinds: { cleared_and_back: 'cleared again and again', cleared_before_inspection: 'cleared before the inspection' },
    more: (count: number) => `Show all ${count}`,
    fewer: 'Show fewer',
    on: (dates: readonly string[]) => `Clears seen on ${list(dates)}.`,
  },
  together: {
    title: 'Codes that come together',
    none: (least: number) =>
      `No two codes come together more often than chance would have it in ${least} vehicles or more.`,
    pair: 'Codes',
    both: 'Vehicles with both',
    bothText: (both: number, first: number, second: number, atOnce: number) =>
      `${both} (${first} and ${second} have each; ${atOnce} both at the same time)`,
    lift: 'Against chance',
    liftText: (lift: number, p: number) => `${lift.toFixed(1)} times as often; by chance ${chanceText(p)}`,
    and: 'and',
  },
  spreading: {
    title: 'Codes that spread in a class',
    none: (least: number, days: number) =>
      `No code reached ${least} or more new vehicles of a class in the last ${days} days faster than before.`,
    code: 'Code',
    vehicleClass: 'Class',
    now: (days: number) => `Last ${days} days`,
    before: (days: number) => `The ${days} days before`,
    count: (vehicles: number, vehicleDays: number) =>
      `${plural(vehicles, 'new vehicle', 'new vehicles')} in ${plural(Math.round(vehicleDays), 'vehicle-day', 'vehicle-days')}`,
    verdict: 'Against chance',
    verdictText: (ratio: number | null, p: number) =>
      `${ratio === null ? 'none before' : `${ratio.toFixed(1)} times as fast`}; by chance ${chanceText(p)}`,
    which: 'New vehicles',
    has: (active: number, of: number) => `${active} of ${of} have it now`,
  },
};

export const enForecast = {
  head: 'By then',
  outlooks: {
    likely: 'likely complete',
    uncertain: 'uncertain',
    unlikely: 'unlikely',
    too_little_history: 'too little history',
  },
  chance: (chance: number, low: number, high: number) => `${percent(chance)} (${percent(low)} to ${percent(high)})`,
  ready: (chance: number, low: number, high: number) =>
    `monitors ready: ${percent(chance)} (${percent(low)} to ${percent(high)})`,
  noForecast: 'cannot be said',
  allDone: 'monitors complete',
  hidden: 'Codes were cleared lately',
  hiddenShort: 'cleared lately',
  stale: 'Newest reading too old',
  open: (vehicle: string) => `More about ${vehicle}`,
  close: 'Close',
  title: (vehicle: string) => `${vehicle} until its inspection`,
  notThere: (vehicle: string) => `${vehicle} is not in this fleet`,
  until: (date: string, registered: boolean) =>
    registered
      ? `Until the inspection on ${date}`
      : `For the two weeks until ${date}; no coming inspection date is registered`,
  use: {
    warm_ups: (soFar: number, then: number) =>
      `${plural(Math.round(soFar), 'warm-up', 'warm-ups')} since the last clear; ${Math.round(then)} more at its usual use.`,
    days: (soFar: number, then: number) =>
      `${plural(Math.round(soFar), 'day', 'days')} since the last clear; ${Math.round(then)} more until then.`,
    kilometres: (soFar: string, then: string) => `${soFar} since the last clear; ${then} more at its usual use.`,
  },
  useUnknown: 'How much it is used since the last clear is not known.',
  monitor: 'Not complete yet',
  outlook: 'By then',
  driving: 'Runs in (common practice)',
  from: (own: number, others: number) =>
    `from ${plural(own, 'earlier clear', 'earlier clears')} of its own and ${others.toLocaleString('en')} in its class`,
  likelyOn: (date: string) => `likely from ${date}`,
  overdue: 'open for longer than in nearly all others: have it looked at',
  none: 'Every monitor is complete, or monitors were never read.',
  next: 'What to do',
  method: 'How this is estimated',
  returning: 'Codes that return, come together or spread',
};
