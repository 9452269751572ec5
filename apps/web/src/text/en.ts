// Every word of the page, in one place. A translation is a file of the same shape (`Text` in text.ts). Sentences that the
// service writes (reasons, causes, problems) come with the data.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;

export const en = {
  locale: 'en',
  brand: 'Tallybay',
  nav: {
    label: 'Places',
    skip: 'Skip to the page',
    home: 'Tallybay, to the ranking of the week',
    ranking: 'Week',
    upload: 'Upload',
    readiness: 'Readiness',
    limits: 'Limits',
  },
  actions: {
    close: 'Close',
    sortBy: (column: string) => `Sort by ${column}`,
    cancel: 'Cancel',
    save: 'Save',
  },
  states: {
    loading: (what: string) => `Fetching ${what} …`,
    loadingPage: 'One moment …',
    pageFailed: 'This page could not be fetched from the server. It may have been updated meanwhile.',
    reloadPage: 'Load again',
    tryAgain: 'Try again',
    noSuchPage: 'There is no such page',
    noSuchPageAdvice: 'The address may be mistyped, or cut off in a message. Start from here:',
    noValue: 'no data',
  },
  problems: {
    title: 'That did not work',
    unreachable: 'The Tallybay server does not answer',
    unreachableAdvice: 'Check the network connection, then try again; what was sent before is safe on the server.',
    oddAnswer: (status: number) => `The server answered with status ${status} and no explanation`,
    oddAnswerAdvice: 'Try again in a minute; if it stays, tell whoever runs the server.',
    unexpectedAdvice: 'Load the page again; if it happens again, tell whoever runs the server.',
  },
  prefs: {
    open: 'Units, theme',
    title: 'Units and theme',
    where: 'Kept in this browser, for you only. A plot can be switched to another unit on its own.',
    names: { theme: 'Theme', temperature: 'Temperature', pressure: 'Pressure', distance: 'Distance and speed' },
    choices: {
      system: 'As the device',
      light: 'Light',
      dark: 'Dark',
      degC: '°C',
      degF: '°F',
      kPa: 'kPa',
      psi: 'psi',
      bar: 'bar',
      km: 'km, km/h',
      mi: 'mi, mph',
    },
    unitOf: (what: string) => `Unit of ${what}`,
  },
  units: { degC: '°C', degF: '°F', h: 'h', '%': '%', 'K-interval': 'K' },
  stages: { watch: 'watch', caution: 'caution', alarm: 'alarm', severe: 'severe' },
  count: {
    vehicles: (count: number) => plural(count, 'vehicle', 'vehicles'),
    files: (count: number) => plural(count, 'file', 'files'),
    rows: (count: number) => plural(count, 'row', 'rows'),
    days: (count: number) => plural(count, 'day', 'days'),
  },
};
