import { type LogParameters, TallybayError, type Transfer, type UploadReceipt } from '@tallybay/contracts';
import { Receiving } from './receiving.js';
import { type TransferFiles, type TransferRecord, transferIdOf } from './transfer-files.js';
import { altered, busy, stoppingError, tooLarge, wrongLength, wrongOffset } from './transfer-problems.js';

/** A sender that is silent for so long has probably lost its line: another request may go on in its place. */
const SILENT_MS = 10_000;

export interface TransferLimits {
  maxOpen: number;
  /** Of the announced lengths of all open transfers together. */
  maxTotalBytes: number;
  /** Of one transfer. */
  maxBytes: number;
  keepMs: number;
}

/** Takes a complete log, as POST /v1/logs does, and knows what was taken before. */
export interface TransferTarget {
  receive(source: AsyncIterable<Uint8Array>, parameters: LogParameters): Promise<UploadReceipt>;
  seen(sha256: string): Promise<UploadReceipt | null>;
}

/** A PATCH's body. `cut` ends its connection, for a sender who is no longer there. */
export interface Piece {
  offset: number;
  complete: boolean;
  bytes: AsyncIterable<Uint8Array>;
  cut(): void;
}

interface Active {
  /** null while the whole is checked and received: then nobody may take over. */
  receiving: Receiving | null;
  piece: Piece;
  ended: Promise<unknown>;
}

/**
 * Logs that arrive in pieces, each at the byte where the one before ended, whoever sends it and however often the line
 * breaks. The last piece hands the whole to the log receiver; its answer is the transfer's.
 */
export class Transfers {
  private readonly active = new Map<string, Active>();
  private opening: Promise<unknown> = Promise.resolve();
  private stopping = false;

  constructor(
    private readonly files: TransferFiles,
    private readonly target: TransferTarget,
    private readonly limits: TransferLimits,
    private readonly nowMs: () => number = Date.now,
  ) {}

  /**
   * Opens a transfer, or finds the open one of the same bytes; what is said about the log now replaces what was said before.
   * @throws TallybayError `body_too_large`, `transfers_full`, `landing_unwritable`
   */
  async open(
    announced: { sha256: string; length: number },
    parameters: LogParameters,
  ): Promise<{ transfer: Transfer; fresh: boolean } | { upload: UploadReceipt }> {
    if (announced.length > this.limits.maxBytes) throw tooLarge(announced.length, this.limits.maxBytes);
    const upload = await this.target.seen(announced.sha256);
    if (upload) return { upload };
    // One after the other, so that two who open at once cannot both take the last place.
    const opened = this.opening.then(() => this.openNow(announced, parameters));
    this.opening = opened.catch(() => undefined);
    return opened;
  }

  private async openNow(announced: { sha256: string; length: number }, parameters: LogParameters) {
    const id = transferIdOf(announced.sha256, announced.length);
    const before = await this.files.load(id);
    if (before) {
      // The record of one that is being sent belongs to that request.
      if (!this.active.has(id)) await this.files.save({ ...before, parameters });
      return { transfer: this.shown(before), fresh: false };
    }
    await this.mustHaveRoom(announced.length);
    const record: TransferRecord = { id, ...announced, safe: 0, parameters, touchedMs: this.nowMs() };
    await this.files.save(record);
    return { transfer: this.shown(record), fresh: true };
  }

  /** @throws TallybayError `transfer_unknown` */
  async find(id: string): Promise<Transfer> {
    return this.shown(await this.recordOf(id));
  }

  /**
   * Takes one piece. What arrived stays, also when the connection is cut in the middle.
   * @returns the upload when this was the last piece, else where the transfer stands
   * @throws TallybayError `transfer_unknown`, `transfer_busy`, `transfer_offset`, `transfer_length`, `transfer_altered`,
   *   `body_cut`, `landing_unwritable`, `service_stopping`, and what the log receiver refuses
   */
  async append(id: string, piece: Piece): Promise<{ transfer: Transfer } | { upload: UploadReceipt }> {
    await this.recordOf(id);
    await this.replaceSilent(id);
    if (this.stopping) throw stoppingError();
    if (this.active.has(id)) throw busy(id);
    const ended = Promise.withResolvers<void>();
    const active: Active = { receiving: null, piece, ended: ended.promise };
    this.active.set(id, active);
    try {
      // Read only now: the request before may have moved the offset or ended the transfer.
      const record = await this.recordOf(id);
      if (piece.offset !== record.safe) throw wrongOffset(piece.offset, record);
      active.receiving = new Receiving(this.files, record, this.nowMs);
      const after = await active.receiving.take(piece.bytes);
      active.receiving = null;
      if (!piece.complete) return { transfer: this.shown(after) };
      return { upload: await this.finish(after) };
    } finally {
      this.active.delete(id);
      ended.resolve();
    }
  }

  /** @throws TallybayError `transfer_unknown`, `transfer_busy` */
  async drop(id: string): Promise<void> {
    await this.recordOf(id);
    if (this.active.has(id)) throw busy(id);
    await this.files.remove(id);
  }

  /** Removes what was abandoned. @returns ids of transfers that were dropped */
  async sweep(): Promise<string[]> {
    const dropped: string[] = [];
    for (const { id, touchedMs } of await this.files.all()) {
      if (this.active.has(id) || this.nowMs() - touchedMs < this.limits.keepMs) continue;
      await this.files.remove(id);
      dropped.push(id);
    }
    await this.files.removeOrphans();
    return dropped;
  }

  /** Cuts the lines of those who are sending; what they sent is kept. Those that are complete are not disturbed. */
  async stop(): Promise<void> {
    this.stopping = true;
    const sending = [...this.active.values()].filter(({ receiving }) => receiving !== null);
    for (const { piece } of sending) piece.cut();
    await Promise.all(sending.map(({ ended }) => ended));
  }

  /** Digest first: a log that was altered on the way must not be judged, or stored, as if it were the sender's. */
  private async finish(record: TransferRecord): Promise<UploadReceipt> {
    const { id, length, safe, sha256, parameters } = record;
    if (safe !== length) throw wrongLength(`${safe} of ${length} bytes are here and the last piece has come`, safe);
    const arrived = await this.files.digest(id);
    if (arrived !== sha256) {
      await this.files.remove(id);
      throw altered(sha256, arrived);
    }
    try {
      const receipt = await this.target.receive(this.files.bytes(id), parameters);
      await this.files.remove(id);
      return receipt;
    } catch (error) {
      // What the bytes themselves cause will not pass by waiting; for the rest they stay, and the end is tried again.
      if (error instanceof TallybayError && error.problem.disposition === 'reject') await this.files.remove(id);
      throw error;
    }
  }

  private async replaceSilent(id: string): Promise<void> {
    const active = this.active.get(id);
    if (!active?.receiving || this.nowMs() - active.receiving.heardMs < SILENT_MS) return;
    active.piece.cut();
    await active.ended;
  }

  private async recordOf(id: string): Promise<TransferRecord> {
    const record = await this.files.load(id);
    if (record) return record;
    const hours = Math.round(this.limits.keepMs / 3_600_000);
    throw new TallybayError('transfer_unknown', `There is no open transfer "${id}"`, {
      advice: `Open it again with POST /v1/transfers: it has ended, was dropped, or nothing came for ${hours} hours. What is stored already is answered at once.`,
    });
  }

  private async mustHaveRoom(length: number): Promise<void> {
    const open = await this.files.all();
    const bytes = open.reduce((sum, record) => sum + record.length, 0);
    const { maxOpen, maxTotalBytes } = this.limits;
    if (open.length < maxOpen && bytes + length <= maxTotalBytes) return;
    throw new TallybayError(
      'transfers_full',
      `${open.length} transfers of ${bytes} bytes are open; at most ${maxOpen} of ${maxTotalBytes} bytes may be`,
      { advice: 'Try again when others have ended, or raise TALLYBAY_MAX_TRANSFERS and TALLYBAY_MAX_TRANSFER_BYTES.' },
    );
  }

  private shown({ id, safe, length, touchedMs }: TransferRecord): Transfer {
    const expiresAt = new Date(touchedMs + this.limits.keepMs).toISOString();
    return { id, offset: safe, length, expiresAt };
  }
}
