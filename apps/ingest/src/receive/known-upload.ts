import { setTimeout as sleep } from 'node:timers/promises';
import { TallybayError } from '@tallybay/contracts';
import type { Registry, UploadRow } from '@tallybay/registry';
import type { LandingDraft, LandingStore } from './landing.js';
import type { Publisher } from './publisher.js';

const LOOK_EVERY_MS = 100;
const LOOK_FOR_MS = 20_000;

/** Bytes that were seen before: usually nothing to do, unless the first time did not come to its end. */
export class KnownUploads {
  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly publisher: Publisher,
    /** Decodes an upload again with today's catalogue and profile. */
    private readonly decodeAgain: (id: string) => Promise<unknown>,
  ) {}

  /**
   * Settles a draft whose content is known. An upload that never got onto the stream is sent now, so that this sender's
   * acknowledgement holds; one that failed gets these fresh bytes and another decode.
   * @returns the upload as it is then. @throws TallybayError `stream_unavailable`, `landing_unwritable`
   */
  async settle(known: UploadRow, draft: LandingDraft): Promise<UploadRow> {
    if (known.state === 'failed' && known.vehicle !== null) {
      await this.landing.keep(draft, known.id);
      await this.decodeAgain(known.id);
    } else {
      await draft.discard();
      if (known.state === 'landed') await this.ensureSent(known);
    }
    return (await this.registry.uploads.get(known.id)) ?? known;
  }

  /** Returns when every chunk of a landed upload is on the stream, whoever put it there. @throws `stream_unavailable` */
  async ensureSent(landed: UploadRow): Promise<void> {
    if (await this.publisher.adopt(landed)) return;
    const untilMs = Date.now() + LOOK_FOR_MS;
    for (;;) {
      const now = await this.registry.uploads.get(landed.id);
      if (now?.state !== 'landed') return;
      if (await this.publisher.adopt(now)) return;
      if (Date.now() > untilMs)
        throw new TallybayError(
          'stream_unavailable',
          `Another process is still putting upload ${landed.id} on the stream`,
          {
            advice: 'Send it again in a moment.',
          },
        );
      await sleep(LOOK_EVERY_MS);
    }
  }
}
