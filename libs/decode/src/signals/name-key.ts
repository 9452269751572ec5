import { repairMojibake } from '../units/convert.js';

/** Short forms that recorders use for whole words; trade usage, no source. */
const WORDS: Readonly<Record<string, string>> = {
  tmp: 'temp',
  eng: 'engine',
  mot: 'motor',
  pres: 'press',
  prs: 'press',
  spd: 'speed',
  pos: 'position',
  posn: 'position',
  abs: 'absolute',
  amb: 'ambient',
  trans: 'transmission',
  xmsn: 'transmission',
  trns: 'transmission',
  bat: 'battery',
  batt: 'battery',
  volt: 'voltage',
  volts: 'voltage',
  lvl: 'level',
  cmd: 'commanded',
  cmnd: 'commanded',
  veh: 'vehicle',
  exh: 'exhaust',
  calc: 'calculated',
  cool: 'coolant',
  clnt: 'coolant',
  turbocharger: 'turbo',
  vapour: 'vapor',
  tyre: 'tire',
  dist: 'distance',
  rel: 'relative',
  accel: 'accelerator',
  geschw: 'geschwindigkeit',
  obdii: 'obd',
  obd2: 'obd',
};

/** Words that do not change which signal is meant. */
const NOISE: ReadonlySet<string> = new Set(
  'sensor value actual signal of the obd ecu ecm pcm tcm can j1939 sae reading measured current del de la el 1'.split(
    ' ',
  ),
);

export interface NameKeys {
  /** Words in order, joined: `coolanttemp`. Compounds and separate words meet here. */
  ordered: string;
  /** Words sorted, joined. */
  bag: string;
  /** As `bag`, without words that do not change the meaning. */
  bare: string;
}

/** Three keys of a header, from strict to lenient; case, diacritics, punctuation and short forms are gone. */
export function nameKeys(name: string): NameKeys {
  const words = splitWords(name).map(wholeWord);
  const bare = words.filter((word) => !NOISE.has(word));
  return {
    ordered: fold(words.join('')),
    bag: fold([...words].sort().join('')),
    bare: fold([...bare].sort().join('')),
  };
}

/** A short form as its whole word, also with a number behind it: `pos1`. */
function wholeWord(word: string): string {
  const [, short = word, number = ''] = /^([a-z]+)(\d+)$/.exec(word) ?? [];
  return WORDS[word] ?? (WORDS[short] === undefined ? word : `${WORDS[short]}${number}`);
}

/** Words of a name, lower case and without diacritics; camelCase and digits after letters stay one word as written. */
export function splitWords(name: string): string[] {
  return splitCamel(repairMojibake(name))
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/ß/g, 'ss')
    .replace(/λ/g, ' lambda ')
    .replace(/[^a-z0-9%]+/g, ' ')
    .trim()
    .split(' ')
    .filter((word) => word !== '');
}

export function splitCamel(text: string): string {
  return text.replace(/([a-z0-9])([A-Z])/g, '$1 $2').replace(/([A-Z]+)([A-Z][a-z])/g, '$1 $2');
}

/** One spelling for words that English, German and Spanish share, and for umlauts written as two letters. */
function fold(joined: string): string {
  return joined
    .replace(/temperatur[ae]?/g, 'temp')
    .replace(/pressure/g, 'press')
    .replace(/ae/g, 'a')
    .replace(/oe/g, 'o')
    .replace(/ue/g, 'u');
}
