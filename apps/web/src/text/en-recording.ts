// Words of the recordings: their list, and one log at full rate.

const plural = (count: number, one: string, many: string): string =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`;

/** `1 h 2 min`, `3 min 5 s`, `12.4 s`: two units at most. */
function duration(ms: number): string {
  const seconds = ms / 1000;
  if (seconds < 60) return `${seconds.toLocaleString('en', { maximumFractionDigits: seconds < 10 ? 1 : 0 })} s`;
  const whole = Math.round(seconds);
  const [days, hours, minutes] = [
    Math.floor(whole / 86_400),
    Math.floor(whole / 3600) % 24,
    Math.floor(whole / 60) % 60,
  ];
  if (days > 0) return hours > 0 ? `${days} d ${hours} h` : `${days} d`;
  if (hours > 0) return minutes > 0 ? `${hours} h ${minutes} min` : `${hours} h`;
  return whole % 60 > 0 ? `${minutes} min ${whole % 60} s` : `${minutes} min`;
}

export const enRecordings = {
  title: 'Recordings',
  titleOf: (vehicle: string) => `Recordings of ${vehicle}`,
  lead: 'Every log that arrived, newest first. Times are those of the vehicle’s depot.',
  vehicle: 'Vehicle',
  chooseVehicle: 'Choose a vehicle',
  chooseAdvice: 'Its recordings appear here, each with its plots at full rate.',
  theVehicles: 'the vehicles',
  theRecordings: (vehicle: string) => `the recordings of ${vehicle}`,
  noVehicles: 'No vehicle is registered',
  noVehiclesAdvice: 'Register the fleet first (POST /v1/fleet, or `tallybay fleet`).',
  none: (vehicle: string) => `No log of ${vehicle} has arrived`,
  noneAdvice: 'Send the card’s files, or look whether they wait for a vehicle or a time.',
  goUpload: 'Send logs',
  shown: (count: number) => plural(count, 'recording', 'recordings'),
  columns: {
    recorded: 'Recorded',
    length: 'Length',
    rows: 'Rows',
    drives: 'Drives',
    gaps: 'Gaps',
    signals: 'Signals',
    file: 'File',
    state: 'State',
  },
  notInLake: 'not in the lake yet',
  unnamed: 'unnamed',
  received: (when: string) => `received ${when}`,
  gaps: (count: number, longest: string) => (count === 0 ? 'none' : `${count}, longest ${longest}`),
  states: {
    landed: 'arrived',
    waiting: 'waits for a person',
    queued: 'queued',
    decoding: 'being decoded',
    stored: 'in the lake',
    failed: 'failed',
  } as Record<string, string>,
};

export const enRecording = {
  title: 'Recording',
  titleOf: (vehicle: string, day: string) => `${vehicle}, ${day}`,
  what: 'the recording',
  emptyTitle: 'This log holds no signal that is known',
  emptyAdvice: 'Its channels were kept aside. Correct their mapping on the upload page and decode it again.',
  others: (vehicle: string) => `All recordings of ${vehicle}`,
  duration,
  plots: 'Plots of the recording',
  wholeRecording: 'Whole recording',
  stripHint: 'Drives, episodes and markers of the whole recording; drag the window',
  clockOf: (zone: string) => zone.replaceAll('_', ' '),
  cursor: 'Cursor',
  cursorAt: (when: string) => `Cursor at ${when}`,
  about: '≈ ',
  noLanes: 'No signal is drawn. Add one below.',
  plotOf: (label: string) => `Plot of ${label}; its values are in the table below`,
  channelOf: (channel: string) => `channel ${channel}`,
  remove: (label: string) => `Take ${label} away`,
  add: 'Add a signal',
  choose: 'Choose …',
  min: (label: string, value: string, when: string) => `Lowest ${label}: ${value}, ${when}. Go there`,
  max: (label: string, value: string, when: string) => `Highest ${label}: ${value}, ${when}. Go there`,
  caution:
    'What was recorded is shown as it was recorded. It is no permission to drive; the maker’s limits prevail over the stages drawn here.',
  replay: {
    label: 'Replay',
    play: 'Play',
    pause: 'Pause',
    speed: 'Speed',
    times: (speed: number) => `${speed} ×`,
    sampleBack: 'One sample back',
    sampleOn: 'One sample on',
    tenBack: 'Ten seconds back',
    tenOn: 'Ten seconds on',
    minuteBack: 'A minute back',
    minuteOn: 'A minute on',
    markBack: 'To the marker or episode before',
    markOn: 'To the next marker or episode',
  },
  view: {
    label: 'View',
    closer: 'Zoom in',
    wider: 'Zoom out',
    earlier: 'Earlier',
    later: 'Later',
    all: 'Whole recording',
    fit: 'Heights fit the view',
    copy: 'Copy link',
    copied: 'Copied.',
    notCopied: 'The browser did not allow it; the address bar holds the same link.',
  },
  span: {
    label: 'Chosen span',
    from: 'Span begins at the cursor',
    to: 'Span ends at the cursor',
    none: 'No span chosen. Drag along the clock, or set both ends at the cursor.',
    repeat: 'Replay repeats it',
    show: 'Zoom to it',
    clear: 'Clear',
  },
  keys: {
    title: 'Keys, mouse and fingers',
    hands:
      'On the plots: the wheel zooms, Shift and wheel moves along, dragging moves along, a click sets the cursor, two fingers zoom. Dragging along the clock, or with Shift, chooses a span. Keys work once the clock has the focus:',
    play: 'play, pause',
    sampleBack: 'one sample back',
    sampleOn: 'one sample on',
    tenBack: 'ten seconds back',
    tenOn: 'ten seconds on',
    minuteBack: 'a minute back',
    minuteOn: 'a minute on',
    markBack: 'marker or episode before',
    markOn: 'next marker or episode',
    start: 'begin of the recording',
    end: 'end of the recording',
    closer: 'zoom in',
    wider: 'zoom out',
    earlier: 'view earlier',
    later: 'view later',
    all: 'whole recording',
    spanFrom: 'span begins here',
    spanTo: 'span ends here',
  },
  markers: {
    title: (count: number) => `Markers (${count})`,
    form: 'Add a marker at the cursor',
    text: 'Note',
    by: 'Your name',
    add: (at: string) => `Add at ${at}`,
    none: 'The driver set none, and nobody has added one.',
    unnamed: 'marker',
    recorded: 'set while recording',
    added: (by: string, when: string) => `added by ${by}, ${when}`,
    remove: 'Take away',
    removeOf: (text: string) => `Take away the marker ${text}`,
    nameFirst: 'Write your name above first: it is kept who took a marker away.',
  },
  episodes: {
    title: (count: number) => `Episodes (${count})`,
    none: 'No temperature reached a stage while the engine ran.',
    of: (length: string, worst: string) => `${length}, up to ${worst}`,
  },
  drives: {
    title: (count: number) => `Drives (${count})`,
    none: 'The engine did not run, or its speed was not recorded.',
  },
  table: {
    title: (count: number) => `Recorded signals (${count})`,
    caption: 'Every recorded signal: value at the cursor, lowest and highest of the recording',
    signal: 'Signal; tick to draw',
    now: 'At the cursor',
    unit: 'Unit',
    min: 'Lowest',
    max: 'Highest',
  },
  facts: {
    more: 'How it was read',
    gaps: (count: number, longest: string) =>
      count === 0 ? 'no gaps' : `${plural(count, 'gap', 'gaps')}, the longest ${longest}`,
    file: 'File',
    recorder: 'Recorder',
    unnamed: 'not named',
    leftOut: 'Left out',
    leftOutText: (rows: number, values: number, steps: number) =>
      `${plural(rows, 'row', 'rows')}, ${plural(values, 'value', 'values')}; the clock stepped back ${plural(steps, 'time', 'times')}`,
  },
};
