import { TallybayError } from '@tallybay/contracts';
import { convert, findUnit, isSignalId, SIGNALS, type SignalId, signalRow } from '@tallybay/decode';

/** One asked stage: how it was written, and its value in the signal's canonical unit. */
export interface Stage {
  asked: string;
  canonical: string;
}

export type Stages = Map<SignalId, Stage[]>;

const ONE_STAGE = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(.*)$/i;

/**
 * Reads `coolant_temp_c=95,100` or, with a unit, `coolant_temp_c=203F,212F`, one text a signal.
 * @throws TallybayError `parameter_invalid` with the text and what is wrong with it
 */
export function parseStages(texts: readonly string[]): Stages {
  const stages: Stages = new Map();
  for (const text of texts) {
    const [id, values] = splitOnce(text);
    if (!values) throw stageProblem(text, 'it names no value', 'Write signal=value, such as coolant_temp_c=95,100.');
    if (!isSignalId(id)) throw stageProblem(text, `"${id}" is no signal of the catalogue`, nearestAdvice(id));
    const before = stages.get(id) ?? [];
    stages.set(id, [...before, ...values.split(',').map((value) => parseStage(text, id, value.trim()))]);
  }
  return stages;
}

/** The stages as the accumulator takes them: each canonical value once. */
export const canonicalStages = (stages: Stages): Partial<Record<SignalId, string[]>> =>
  Object.fromEntries([...stages].map(([id, list]) => [id, [...new Set(list.map((stage) => stage.canonical))]]));

/** Seconds by stage as asked, from seconds by canonical stage. */
export function asAsked<T>(list: readonly Stage[], byCanonical: Readonly<Record<string, T>>): Record<string, T> {
  return Object.fromEntries(list.map((stage) => [stage.asked, byCanonical[stage.canonical] as T]));
}

function parseStage(text: string, id: SignalId, value: string): Stage {
  const [, digits, unitText] = ONE_STAGE.exec(value) ?? [];
  if (digits === undefined)
    throw stageProblem(text, `"${value}" is no number`, 'Write a number, with its unit if it has another one.');
  if (!unitText) return { asked: value, canonical: value };
  const row = signalRow(id);
  const unit = findUnit(unitText);
  if (!unit || unit.quantity !== findUnit(row.unit)?.quantity)
    throw stageProblem(text, `"${unitText}" is no unit of ${row.label.toLowerCase()}`, `It is counted in ${row.unit}.`);
  return { asked: value, canonical: String(convert(Number(digits), unit.id, row.unit)) };
}

function splitOnce(text: string): [string, string] {
  const at = text.indexOf('=');
  return at < 0 ? [text, ''] : [text.slice(0, at).trim(), text.slice(at + 1).trim()];
}

function stageProblem(text: string, why: string, advice: string): TallybayError {
  return new TallybayError('parameter_invalid', `--stage ${text}: ${why}`, { advice, place: { field: '--stage' } });
}

/** The signals whose ids share a word with what was typed. */
function nearestAdvice(id: string): string {
  const words = id
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter((word) => word.length > 2);
  const near = SIGNALS.filter((row) => words.some((word) => row.id.includes(word))).map((row) => row.id);
  return near.length > 0 ? `Did you mean ${near.slice(0, 5).join(', ')}?` : 'docs/reference lists the signals.';
}
