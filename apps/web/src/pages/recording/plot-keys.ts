import type { Desk } from './desk.js';

const SECOND_MS = 1000;
export const TEN_SECONDS_MS = 10 * SECOND_MS;
export const MINUTE_MS = 60 * SECOND_MS;
export const ZOOM_STEP = 0.6;
export const PAN_SHARE = 0.4;

/** What keys do on the plots; the page lists them under the same names. */
export const KEYS: readonly { id: KeyId; keys: readonly string[]; shown: string; act: (desk: Desk) => void }[] = [
  { id: 'play', keys: [' '], shown: 'Space', act: ({ model }) => model.togglePlaying() },
  { id: 'sampleBack', keys: ['ArrowLeft'], shown: '←', act: ({ model }) => model.step(-1) },
  { id: 'sampleOn', keys: ['ArrowRight'], shown: '→', act: ({ model }) => model.step(1) },
  { id: 'tenBack', keys: ['Shift+ArrowLeft'], shown: 'Shift ←', act: ({ model }) => model.moveBy(-TEN_SECONDS_MS) },
  { id: 'tenOn', keys: ['Shift+ArrowRight'], shown: 'Shift →', act: ({ model }) => model.moveBy(TEN_SECONDS_MS) },
  { id: 'minuteBack', keys: ['PageUp'], shown: 'Page Up', act: ({ model }) => model.moveBy(-MINUTE_MS) },
  { id: 'minuteOn', keys: ['PageDown'], shown: 'Page Down', act: ({ model }) => model.moveBy(MINUTE_MS) },
  { id: 'markBack', keys: ['p', ','], shown: 'P', act: (desk) => desk.model.jump(desk.instants(), -1) },
  { id: 'markOn', keys: ['n', '.'], shown: 'N', act: (desk) => desk.model.jump(desk.instants(), 1) },
  { id: 'start', keys: ['Home'], shown: 'Home', act: ({ model }) => model.goTo(model.whole.fromMs) },
  { id: 'end', keys: ['End'], shown: 'End', act: ({ model }) => model.goTo(model.whole.toMs) },
  { id: 'closer', keys: ['+', '='], shown: '+', act: ({ model }) => model.zoom(ZOOM_STEP) },
  { id: 'wider', keys: ['-'], shown: '−', act: ({ model }) => model.zoom(1 / ZOOM_STEP) },
  { id: 'earlier', keys: ['['], shown: '[', act: ({ model }) => model.pan(-PAN_SHARE) },
  { id: 'later', keys: [']'], shown: ']', act: ({ model }) => model.pan(PAN_SHARE) },
  { id: 'all', keys: ['0'], shown: '0', act: ({ model }) => model.showAll() },
  { id: 'spanFrom', keys: ['a'], shown: 'A', act: ({ model }) => model.chooseEnd('from') },
  { id: 'spanTo', keys: ['b'], shown: 'B', act: ({ model }) => model.chooseEnd('to') },
];

export type KeyId =
  | 'play'
  | 'sampleBack'
  | 'sampleOn'
  | 'tenBack'
  | 'tenOn'
  | 'minuteBack'
  | 'minuteOn'
  | 'markBack'
  | 'markOn'
  | 'start'
  | 'end'
  | 'closer'
  | 'wider'
  | 'earlier'
  | 'later'
  | 'all'
  | 'spanFrom'
  | 'spanTo';

/** Acts on a key, unless it belongs to a control that has the focus or to the browser. */
export function onPlotKey(desk: Desk, event: KeyboardEvent): void {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target instanceof HTMLElement && event.target.closest('button, input, select, textarea, a, summary'))
    return;
  const name = event.key.length === 1 ? event.key.toLowerCase() : (event.shiftKey ? 'Shift+' : '') + event.key;
  const found = KEYS.find(({ keys }) => keys.includes(name));
  if (!found) return;
  event.preventDefault();
  found.act(desk);
}
