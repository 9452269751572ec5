/** Words of the SQL page. */
export const enQuery = {
  nav: 'SQL',
  title: 'Ask the whole history',
  lead: 'One SELECT over the views of the lake. It can read everything and change nothing.',
  editor: 'Statement',
  editorHint:
    'Ctrl+Enter runs it; Ctrl+Space completes views, columns and functions; Escape then Tab leaves the editor.',
  run: 'Run',
  cancel: 'Cancel',
  running: (seconds: number, rows: number) =>
    `Running for ${seconds.toFixed(0)} s${rows > 0 ? `, ${rows.toLocaleString('en')} rows so far` : ''} …`,
  cancelled: 'Cancelled. What had come until then is below.',
  done: (rows: number, seconds: number) =>
    `${rows.toLocaleString('en')} ${rows === 1 ? 'row' : 'rows'} in ${seconds.toFixed(2)} s`,
  truncated: (rows: number) => `Cut off at ${rows.toLocaleString('en')} rows, the limit. Aggregate, or filter.`,
  noRows: 'No row matches',
  noRowsAdvice: 'The statement is fine; nothing in the lake is like that.',
  cutTitle: 'The answer was cut',
  result: 'Answer',
  grid: (rows: number) => `Answer, ${rows.toLocaleString('en')} rows`,
  nothing: '-',
  person: 'Your name',
  personHint: 'Limits, saved questions and the log go by it.',
  examples: 'Examples',
  examplesLead: 'Ten questions to start from. Choosing one puts it into the editor.',
  views: 'Views and columns',
  viewsLead: 'Press a name to put it into the statement.',
  what: 'the views',
  columnFrom: (source: string) => `From ${source}`,
  saved: 'Saved questions',
  savedEmpty: 'None yet. Save the statement above under a name to share it.',
  saveName: 'Name',
  save: 'Save the question',
  savedAs: (name: string) => `Saved as ${name}.`,
  by: (owner: string) => `by ${owner}`,
  share: 'Keep this answer and copy a link',
  shared: 'Link copied. The answer is kept for 90 days.',
  sharedHere: 'The link to the kept answer:',
  sharedAnswer: (name: string | null, person: string, at: string) =>
    `A kept answer${name === null ? '' : ` of "${name}"`}, made by ${person} on ${at}.`,
  export: 'Take along',
  exports: { csv: 'CSV', arrow: 'Arrow', parquet: 'Parquet' },
  plot: 'Plot',
  plotKind: 'Kind',
  plotKinds: { none: 'No plot', line: 'Line', bar: 'Bars', histogram: 'Histogram', scatter: 'Points' },
  plotX: 'Across',
  plotY: 'Up',
  plotLabel: (kind: string, x: string, y: string) => `${kind} of ${y} by ${x}`,
  plotOf: (column: string) => `How often ${column} has which value`,
  plotCount: 'Rows',
  plotTooFew: 'A plot needs a column of numbers.',
  plotCut: (shown: number, all: number) =>
    `${shown.toLocaleString('en')} of ${all.toLocaleString('en')} rows are drawn, evenly chosen.`,
  example: {
    hottest: {
      title: 'Which vehicles ran hottest, and for how long?',
      why: 'Minutes with the coolant at or above 105 °C, from dwell alone: no sample is read, so it is quick over years.',
    },
    coolant_by_speed: {
      title: 'Is it the heat, or the load?',
      why: 'Mean coolant temperature and load by speed. Hot at low speed and low load points to airflow, fan or radiator.',
    },
    heat_by_class: {
      title: 'Is it the model?',
      why: 'Peak temperatures by vehicle class: the median drive and the hottest twentieth. A class that stands apart is not one bad truck.',
    },
    week_on_week: {
      title: 'Better or worse than last week?',
      why: "Engine hours, distance and the hottest coolant by vehicle and ISO week, counted in the depot's own zone.",
    },
    returning_codes: {
      title: 'Which codes keep coming back?',
      why: 'Codes that returned after they were gone or cleared, most returns first. Clearing these again repairs nothing.',
    },
    codes_before_heat: {
      title: 'Which codes came before an overheating?',
      why: 'Codes seen within the seven days before an episode. A code that precedes heat again and again is worth a look first.',
    },
    warm_up: {
      title: 'Whose engine warms up slowly?',
      why: 'Time from a cold start to 70 °C of coolant. A thermostat stuck open never gets there: those stand first, without a time.',
    },
    readiness_due: {
      title: 'What is due, and would it pass?',
      why: 'Inspections by due date with the readiness verdict and what blocks it. The local programme decides, not this list.',
    },
    bad_sensors: {
      title: 'Which sensors can not be trusted?',
      why: 'Values that were left out as out of range, unreadable or jumping, and time that a sensor stood still. Mend these before believing a temperature.',
    },
    idle_share: {
      title: 'Who idles most?',
      why: 'Share of engine-on time below 5 km/h. Idling wears oil and filters without a kilometre on the odometer.',
    },
  },
};
