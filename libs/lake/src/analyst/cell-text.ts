import type { ColumnBlock } from './result-columns.js';

const MS_PER_DAY = 86_400_000;
/** What a JavaScript date can hold (ECMA-262, section 21.4.1.1). */
const MAX_MS = 8.64e15;

/** A cell for people and programs that read text; null for null. Instants are ISO 8601 with Z, local times without. */
export function cellText(block: ColumnBlock, row: number): string | null {
  if (block.present[row] === 0) return null;
  if (block.texts) return block.texts.text(row);
  const value = block.numbers![row]!;
  switch (block.column.type) {
    case 'bool':
      return value === 0 ? 'false' : 'true';
    case 'date':
      return dateText(Number(value));
    case 'timestamp':
      return `${timeText(value as bigint)}Z`;
    case 'local_timestamp':
      return timeText(value as bigint);
    case 'float':
      return floatText(value as number);
    default:
      return String(value);
  }
}

const dateText = (days: number): string =>
  Math.abs(days * MS_PER_DAY) > MAX_MS ? `${days} days` : new Date(days * MS_PER_DAY).toISOString().replace(/T.*/, '');

/** Milliseconds, and microseconds only where there are any. */
function timeText(micros: bigint): string {
  let ms = micros / 1000n;
  let rest = Number(micros % 1000n);
  if (rest < 0) {
    ms -= 1n;
    rest += 1000;
  }
  if (Math.abs(Number(ms)) > MAX_MS) return `${micros} us`;
  const text = new Date(Number(ms)).toISOString().slice(0, -1);
  return rest === 0 ? text : text + String(rest).padStart(3, '0');
}

/** The shortest decimal that reads back as the same 32-bit float; seven digits nearly always do. */
function floatText(value: number): string {
  const short = Number(value.toPrecision(7));
  return String(Math.fround(short) === value ? short : Number(value.toPrecision(9)));
}
