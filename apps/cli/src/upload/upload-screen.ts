import { TallybayError } from '@tallybay/contracts';
import { MultiBar, type SingleBar } from 'cli-progress';
import { bytesText, countText, durationText, plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import type { Terminal } from '../terminal.js';
import type { Outcome, UploadItem, UploadResult, UploadWatcher } from './uploader.js';

/** What each outcome is called on screen, in the order of the summary. */
const OUTCOME_WORDS: Record<Outcome, { word: string; total: string }> = {
  sent: { word: 'sent', total: 'sent' },
  there: { word: 'there', total: 'already there' },
  waits: { word: 'waits', total: 'waiting for a vehicle or a time' },
  refused: { word: 'refused', total: 'refused' },
  failed: { word: 'failed', total: 'not delivered' },
  skipped: { word: 'skipped', total: 'skipped, neither log nor snapshot' },
};

const FILES_A_SIGN = 100;

/** Shows uploads as they go: one line a finished file, a bar of bytes where somebody looks. */
export class UploadScreen implements UploadWatcher {
  private readonly bars: MultiBar | null;
  private readonly bar: SingleBar | null;
  private readonly sent = new Map<UploadItem, number>();
  private sentBytes = 0;
  private doneFiles = 0;

  constructor(
    private readonly terminal: Terminal,
    private readonly items: readonly UploadItem[],
    private readonly isQuiet: (result: UploadResult) => boolean = () => false,
  ) {
    const total = items.reduce((sum, item) => sum + item.file.size, 0);
    this.bars = terminal.bar ? new MultiBar(barOptions(terminal.bar)) : null;
    this.bar = this.bars?.create(total, 0, this.payload(total)) ?? null;
    this.totalBytes = total;
  }
  private readonly totalBytes: number;

  advanced(item: UploadItem, sentBytes: number): void {
    // Compressed files are sent unpacked: the bar counts the bytes on the card.
    const counted = Math.min(sentBytes, item.file.size);
    this.sentBytes += counted - (this.sent.get(item) ?? 0);
    this.sent.set(item, counted);
    this.bar?.update(this.sentBytes, this.payload(this.totalBytes));
  }

  retrying(item: UploadItem, error: TallybayError, delayMs: number): void {
    this.aside(`${item.label}: ${error.message}; trying again in ${durationText(delayMs / 1000)}`);
  }

  finished(result: UploadResult): void {
    this.doneFiles++;
    this.advanced(result.item, result.item.file.size);
    if (!this.isQuiet(result)) this.line(resultLine(result));
    else if (!this.bars && this.doneFiles % FILES_A_SIGN === 0) this.line(`  ${this.sign()}`);
  }

  stop(): void {
    this.bars?.stop();
  }

  /** Where no bar is drawn, a line now and then. */
  private sign(): string {
    const { files, bytes } = this.payload(this.totalBytes);
    return `${files}, ${bytes}`;
  }

  private payload(total: number): Record<string, string> {
    return {
      files: `${countText(this.doneFiles)} of ${plural(this.items.length, 'file')}`,
      bytes: `${bytesText(this.sentBytes)} of ${bytesText(total)}`,
    };
  }

  private line(text: string): void {
    if (this.bars && this.terminal.sharedScreen) this.bars.log(`${text}\n`);
    else this.terminal.out(text);
  }

  private aside(text: string): void {
    if (this.bars) this.bars.log(`${text}\n`);
    else this.terminal.note(text);
  }
}

const barOptions = (stream: NodeJS.WriteStream) => ({
  stream,
  format: '[{bar}] {percentage} %  {files}  {bytes}  {eta_formatted} left',
  barsize: 30,
  barCompleteChar: '#',
  barIncompleteChar: '.',
  hideCursor: true,
  clearOnComplete: true,
  etaBuffer: 50,
});

/** `sent      KV-104/0712.csv  12.3 MB  KV-104  <upload id>`, and the reason where there is one. */
export function resultLine(result: UploadResult): string {
  const { item, outcome, deliveries, problem } = result;
  const vehicles = [...new Set(deliveries.flatMap((one) => one.vehicle ?? []))].join(', ');
  const ids = deliveries.length > 3 ? plural(deliveries.length, 'upload') : deliveries.map((one) => one.id).join(', ');
  const facts = [OUTCOME_WORDS[outcome].word.padEnd(8), item.label, bytesText(item.file.size), vehicles, ids];
  const line = facts.filter(Boolean).join('  ');
  const notes = [...(problem ? [problemSummary(problem)] : []), ...(vehicles ? elsewhere(result) : [])];
  return [line, ...notes.map((note) => `          ${note}`)].join('\n');
}

/** Bytes that are there already keep their vehicle, whatever is named now. */
function elsewhere({ item, deliveries }: UploadResult): string[] {
  const named = item.parameters.vehicle;
  const other = deliveries.find((one) => one.duplicate && one.vehicle !== null && one.vehicle !== named);
  if (named === undefined || !other) return [];
  const move = `tallybay decode-again ${other.id} --vehicle ${named}`;
  return [`It stays with ${other.vehicle}; if it is from ${named} after all: \`${move}\``];
}

/** `12 files: 10 sent, 1 already there, 1 refused`; `2 of 12 files: 2 sent` when it was stopped. */
export function summaryLine(results: readonly UploadResult[], asked = results.length): string {
  const parts = (Object.keys(OUTCOME_WORDS) as Outcome[]).flatMap((outcome) => {
    const count = results.filter((result) => result.outcome === outcome).length;
    return count > 0 ? [`${countText(count)} ${OUTCOME_WORDS[outcome].total}`] : [];
  });
  const files =
    results.length < asked ? `${countText(results.length)} of ${plural(asked, 'file')}` : plural(asked, 'file');
  return `${files}: ${parts.join(', ') || (asked > 0 ? 'none is through yet' : 'nothing to do')}`;
}
