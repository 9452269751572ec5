import { splitRows } from '../csv/cells.js';
import { isStartKey, splitPair } from '../csv/preamble.js';
import { isValueCell } from '../csv/table.js';
import { readWrittenStart } from './start-hints.js';
import type { LogPlan } from './types.js';
import { ZoneClock } from './zone.js';

/** What a line that is no data row turned out to be. */
export type OddLine =
  | { is: 'header' }
  | { is: 'units' }
  | { is: 'preamble'; startMs: number | null }
  | { is: 'other-header' }
  | { is: 'comment' }
  | { is: 'row' };

/** Recognises the header block when a recorder writes it again after a restart. Only called for lines that do not read as rows. */
export class OddLines {
  private readonly header: string;
  private readonly headings: ReadonlySet<string>;
  private readonly names: ReadonlySet<string>;
  private readonly preambleTexts: ReadonlySet<string>;
  private readonly preambleKeys: ReadonlySet<string>;

  constructor(
    private readonly plan: LogPlan,
    private readonly delimiter: string,
  ) {
    this.header = (plan.dialect?.headerText ?? '').trim();
    const { unitText, headingTexts = [] } = plan.dialect ?? {};
    this.headings = new Set([...headingTexts, ...(unitText ? [unitText] : [])].map((text) => text.trim()));
    this.names = new Set(plan.channels.map((channel) => channel.header).filter((name) => name !== ''));
    this.preambleTexts = new Set(plan.preamble.map((line) => line.text.trim()));
    this.preambleKeys = new Set(plan.preamble.flatMap((line) => (line.key ? [line.key] : [])));
  }

  classify(line: string): OddLine {
    const text = line.trim();
    if (text === this.header) return { is: 'header' };
    if (this.headings.has(text)) return { is: 'units' };
    const cells = splitRows(line, this.delimiter)[0]?.cells ?? [];
    const pair = splitPair({ text: line, cells }, this.delimiter);
    if (this.preambleTexts.has(text) || (pair.key !== undefined && this.preambleKeys.has(pair.key))) {
      return {
        is: 'preamble',
        startMs: pair.key && pair.value && isStartKey(pair.key) ? this.startMs(pair.value) : null,
      };
    }
    const known = cells.filter((cell) => this.names.has(cell.trim())).length;
    const isNames = known >= 2 && known * 2 >= cells.length && !cells.some(isValueCell);
    if (isNames) return { is: 'other-header' };
    return { is: isComment(text, this.delimiter) ? 'comment' : 'row' };
  }

  /** A start written anew, as an instant; null when its zone or order is not known. */
  private startMs(text: string): number | null {
    const start = readWrittenStart(text, null);
    if (!start) return null;
    if (start.utcMs !== null) return start.utcMs;
    const { timeZone } = this.plan.time;
    return start.local === null || timeZone === null
      ? null
      : new ZoneClock(timeZone).toUtcMs(Date.parse(`${start.local}Z`));
  }
}

/** A note that a recorder writes between its rows. */
function isComment(text: string, delimiter: string): boolean {
  return /^(?:#|%|\/\/)/.test(text) || (text.startsWith(';') && delimiter !== ';');
}
