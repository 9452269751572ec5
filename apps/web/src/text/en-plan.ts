// Words of the shop plan.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;
const hours = (minutes: number): string => `${(Math.round(minutes / 6) / 10).toLocaleString('en')} h`;
const dayText = (day: string, options: Intl.DateTimeFormatOptions): string =>
  new Date(`${day}T00:00:00Z`).toLocaleDateString('en', { timeZone: 'UTC', ...options });

export const enPlan = {
  nav: 'Shop plan',
  title: 'Shop plan',
  what: 'the shop plan',
  noShop: 'The shop has no bays yet',
  noShopAdvice: 'Enter its bays, people and opening hours. Then the plan can be made here.',
  toShop: 'Bays, people, hours, kinds of inspections, notices',
  make: 'Plan now',
  makeHint:
    'Takes what is found and booked now. Booked visits move only where that saves more than the move costs; pinned ones stay.',
  making: (seconds: number, gap: string | null) =>
    gap === null
      ? `Planning, ${Math.round(seconds)} s …`
      : `Planning, ${Math.round(seconds)} s, within ${gap} of the bound …`,
  failed: 'No plan was made',
  bookAll: 'Book all proposals',
  editor: 'Your name',
  editorHint: 'Kept with every change, so that others know whom to ask.',
  depot: 'Depot',
  all: 'all',
  earlier: 'Earlier days',
  later: 'Later days',
  feed: (depot: string) => `Calendar feed of ${depot}`,
  csv: 'Visits as CSV',
  calendar: 'Visits by bay and day',
  bay: 'Bay',
  dayHead: (day: string) => dayText(day, { weekday: 'short', day: 'numeric', month: 'short' }),
  sheet: 'day sheet',
  sheetOf: (bay: string, day: string) =>
    `Day sheet of ${bay}, ${dayText(day, { weekday: 'long', day: 'numeric', month: 'long' })}`,
  left: (minutes: number) => `${hours(minutes)} left`,
  closed: 'closed',
  moveHere: 'Move here',
  moveTo: (vehicle: string, bay: string, day: string) =>
    `Move here: ${vehicle} to ${bay}, ${dayText(day, { weekday: 'long', day: 'numeric', month: 'long' })}`,
  cannot: 'does not fit',
  moved: (vehicle: string, bay: string, day: string) =>
    `${vehicle} is now in ${bay} on ${dayText(day, { weekday: 'long', day: 'numeric', month: 'long' })}, and pinned there.`,
  states: {
    proposed: 'proposed',
    booked: 'booked',
    in_the_bay: 'in the bay',
    done: 'done',
    declined: 'declined',
  } as Record<string, string>,
  pinned: 'pinned',
  visitOf: (vehicle: string) => `Visit of ${vehicle}`,
  when: (day: string, from: string, to: string) =>
    `${dayText(day, { weekday: 'long', day: 'numeric', month: 'long' })}, ${from} to ${to}`,
  person: (person: string | null) => (person === null ? 'nobody assigned' : `works it: ${person}`),
  how: 'Drag the visit to another bay or day, or press “Move here” in one of the places marked as fitting.',
  close: 'Close',
  pin: 'Pin here',
  unpin: 'Let it move again',
  book: 'Book',
  start: 'It is in the bay',
  doneHead: 'Finish',
  findings: 'What was found',
  parts: 'Parts fitted',
  partsHint: 'One a line, such as: 2 x hose clamp',
  finish: 'Done',
  declineHead: 'Take it from the plan',
  reason: 'Reason',
  decline: 'Decline',
  waiting: 'What waits',
  waitingNone: 'Everything that was found has a visit.',
  waitingLead: 'Inspections without a visit. The next plan takes them in, or says what keeps them out.',
  columns: { vehicle: 'Vehicle', inspection: 'Inspection', why: 'Why', latest: 'Latest', cost: 'Cost a day' },
  noDate: 'no date',
  report: 'The last plan',
  reportText: (planned: number, cost: string) =>
    `${plural(planned, 'visit', 'visits')}; expected cost of waiting ${cost}.`,
  within: (gap: string) => `That is within ${gap} of what any plan could reach.`,
  proven: 'No plan could be better.',
  reportMoved: (count: number) => `${plural(count, 'booked visit was', 'booked visits were')} moved`,
  reportLate: (count: number) => `${plural(count, 'vehicle comes', 'vehicles come')} after the latest date`,
  reportWaiting: (count: number) => `${plural(count, 'vehicle has', 'vehicles have')} no place within the plan`,
  reportConflicts: (count: number) => `${plural(count, 'pinned visit stands', 'pinned visits stand')} against a limit`,
  lateBy: (days: number) => plural(days, 'day late', 'days late'),
  fromTo: (from: string, to: string) => `${from} → ${to}`,
  caution: 'The plan orders work for the shop. It does not clear any vehicle as safe to drive until then.',
  notices: 'Notices',
  seen: 'Seen',
  seenAll: 'Mark all as seen',
};
