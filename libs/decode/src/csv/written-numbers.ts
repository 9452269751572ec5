/** A number as people, spreadsheets and displays write it, and the unit behind it ('' = none). */
export interface WrittenNumber {
  value: number;
  unit: string;
}

/** What the marks inside a number mean. */
export interface NumberMarks {
  /** The table has a decimal comma. */
  comma: boolean;
  /** Points of this column group thousands even where no comma follows. */
  groupedByPoint: boolean;
}

/** Groups of three digits, set off by one and the same mark, then decimals. Spreadsheet practice of many locales, no source. */
const GROUPED = /^([+-]?)([1-9]\d{0,2})((?:([.,'’ \u00a0\u2009\u202f])\d{3})(?:\4\d{3})*)(?:([.,])(\d+))?(?![\d.,])/;
const PLAIN = /^[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:e[+-]?\d+)?(?![\d.,])/i;
/** Nearly every cell of a log, and the same number by every rule below; points that group are not looked for. */
const BARE = /^-?\d{1,15}(?:\.\d{1,15})?$/;
/** Longer cells hold no number. */
const MAX_LENGTH = 64;

/**
 * Reads `1,234.5`, `1.234,5`, `1 234`, `95 °C`, `12.4V`, `45%`, `5-` and `−5`. Null where the text is no number, or where
 * its marks could mean two numbers.
 */
export function readWritten(cell: string, marks: NumberMarks): WrittenNumber | null {
  if (!marks.groupedByPoint && BARE.test(cell)) return { value: Number(cell), unit: '' };
  if (cell.length > MAX_LENGTH) return null;
  const text = cell.trim().replace(/^\u2212/, '-');
  return withRest(text, grouped(text, marks)) ?? withRest(text, plain(text, marks));
}

interface Front {
  value: number;
  length: number;
}

function grouped(text: string, { comma, groupedByPoint }: NumberMarks): Front | null {
  const match = GROUPED.exec(text);
  if (!match) return null;
  const [whole, sign = '', first = '', groups = '', mark = '', decimal, decimals = ''] = match;
  if (decimal === mark) return null;
  // One group and nothing else may as well be decimals, unless the table uses the other mark for these.
  const isOpen = (mark === ',' || mark === '.') && decimal === undefined && groups.length === 4;
  if (isOpen && mark === ',' && comma) return null;
  if (isOpen && mark === '.' && !groupedByPoint) return null;
  const isForeign = mark !== ',' && mark !== '.' && decimal === ',' && !comma;
  if (isForeign) return null;
  const value = Number(`${sign}${first}${groups.replace(/\D/g, '')}.${decimals}`);
  return { value, length: whole.length };
}

function plain(text: string, { comma }: NumberMarks): Front | null {
  const [front] = PLAIN.exec(text) ?? [];
  if (front === undefined || (front.includes(',') && !comma)) return null;
  const value = Number(front.replace(',', '.'));
  return Number.isFinite(value) ? { value, length: front.length } : null;
}

/** A minus sign may stand behind the number; everything else there is its unit. */
function withRest(text: string, front: Front | null): WrittenNumber | null {
  if (!front) return null;
  const rest = text.slice(front.length).trim();
  if (rest === '-' && !/^[+-]/.test(text)) return { value: -front.value, unit: '' };
  return /^[+-]/.test(rest) ? null : { value: front.value, unit: rest };
}
