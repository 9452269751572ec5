import { createHash } from 'node:crypto';
import { appendFile, mkdir, readFile } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { z } from 'zod';

const entrySchema = z.object({
  path: z.string(),
  size: z.number(),
  mtimeMs: z.number(),
  /** Hash of each body that the file was sent as: one for a log, one a snapshot for a list of them. */
  sha256: z.array(z.string()),
  outcome: z.enum(['acknowledged', 'refused']),
  /** Upload ids, or the reason of a refusal. */
  ids: z.array(z.string()).default([]),
  reason: z.string().optional(),
  at: z.string(),
});
export type JournalEntry = z.infer<typeof entrySchema>;

/**
 * What was sent to one service, a line a file, so that an interrupted run goes on where it stopped. It saves reading and
 * hashing files again; whether the service has the bytes is still asked of the service.
 */
export class Journal {
  private readonly entries = new Map<string, JournalEntry>();
  /** The last run was cut in mid-line: the next entry starts a line of its own. */
  private endsInLine = false;

  private constructor(private readonly file: string) {}

  /** @throws TallybayError `file_unreadable` when the folder cannot be made or the journal cannot be read */
  static async open(directory: string, serviceUrl: string): Promise<Journal> {
    const name = createHash('sha256').update(new URL(serviceUrl).origin).digest('hex').slice(0, 16);
    const journal = new Journal(join(directory, `sent-${name}.jsonl`));
    try {
      await mkdir(directory, { recursive: true });
      journal.load(await readFile(journal.file, 'utf8').catch(emptyWhenMissing));
    } catch (error) {
      throw new TallybayError('file_unreadable', `the journal ${journal.file} cannot be used (${messageOf(error)})`, {
        advice: 'Set TALLYBAY_STATE_DIR to a folder that can be written.',
        place: { file: journal.file },
        cause: error,
      });
    }
    return journal;
  }

  /** The entry of this very file; none when it has changed since. */
  find(file: { path: string; size: number; mtimeMs: number }): JournalEntry | null {
    const entry = this.entries.get(file.path);
    return entry && entry.size === file.size && entry.mtimeMs === file.mtimeMs ? entry : null;
  }

  /** One appended line: a run that is cut while writing loses at most this entry. */
  async record(entry: JournalEntry): Promise<void> {
    this.entries.set(entry.path, entry);
    const start = this.endsInLine ? '\n' : '';
    this.endsInLine = false;
    await appendFile(this.file, `${start}${JSON.stringify(entry)}\n`);
  }

  private load(text: string): void {
    this.endsInLine = text !== '' && !text.endsWith('\n');
    for (const line of text.split('\n')) {
      // A line cut by a crash, or of a later version, is as good as no line: the file is looked at again.
      const parsed = entrySchema.safeParse(tryJson(line));
      if (parsed.success) this.entries.set(parsed.data.path, parsed.data);
    }
  }
}

/** Where journals live: $TALLYBAY_STATE_DIR, else the user's state folder (XDG Base Directory Specification). */
export function stateDirectory(env: Record<string, string | undefined>): string {
  if (env.TALLYBAY_STATE_DIR) return env.TALLYBAY_STATE_DIR;
  return join(env.XDG_STATE_HOME || join(env.HOME || homedir(), '.local', 'state'), 'tallybay');
}

function emptyWhenMissing(error: Error & { code?: string }): string {
  if (error.code === 'ENOENT') return '';
  throw error;
}

function tryJson(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return null;
  }
}

const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));
