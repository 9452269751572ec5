import { en } from './en.js';

/** The same shape with other words: a translation is one more file that satisfies `Text`. */
type Widened<T> = T extends string
  ? string
  : T extends (...args: never[]) => unknown
    ? T
    : { [K in keyof T]: Widened<T[K]> };
export type Text = Widened<typeof en>;

/** Languages there are; the reader's browser chooses, English where theirs is not among them. */
const LANGUAGES: Record<string, Text> = { en };

const wanted = navigator.languages.map((tag) => tag.split('-')[0] ?? '').find((tag) => tag in LANGUAGES) ?? 'en';

export const t: Text = LANGUAGES[wanted] ?? en;
document.documentElement.lang = wanted;
