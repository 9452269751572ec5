import { type SignalLimit, signalLimitSchema } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import { DEFAULT_RULES, limitsFor, type RuleSet, SIGNAL_LIMIT_ROWS, type VehicleLimit } from '@tallybay/risk';

/** Settings are read again after so long: a limit that somebody saves holds for the uploads after it. */
const FRESH_MS = 2000;

interface Rows {
  limits: readonly SignalLimit[];
  stages: RuleSet['stages'];
}

/** The limits in force for a vehicle, from the settings that people edit and its class. */
export class LimitBook {
  private rows: Promise<Rows> | null = null;
  private readMs = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly registry: Pick<Registry, 'settings' | 'vehicles'>,
    private readonly nowMs: () => number,
  ) {}

  /** @throws TallybayError `registry_unavailable` */
  async of(vehicleId: string): Promise<VehicleLimit[]> {
    const vehicle = await this.registry.vehicles.get(vehicleId);
    const { limits, stages } = await this.current();
    // A vehicle that was unregistered meanwhile has the limits of every class.
    const known = vehicle ?? { id: vehicleId, vehicleClass: '*' };
    return limitsFor(limits, { ...DEFAULT_RULES, stages }, known);
  }

  private current(): Promise<Rows> {
    const now = this.nowMs();
    if (!this.rows || now - this.readMs > FRESH_MS) {
      this.readMs = now;
      const rows = this.read();
      rows.catch(() => {
        if (this.rows === rows) this.rows = null;
      });
      this.rows = rows;
    }
    return this.rows;
  }

  private async read(): Promise<Rows> {
    const edited = await this.registry.settings.get('signal-limits');
    const stages = await this.registry.settings.get('heat-stages');
    return {
      limits: edited ? rowsOf(edited.document) : SIGNAL_LIMIT_ROWS,
      stages: (stages?.document as RuleSet['stages'] | undefined) ?? DEFAULT_RULES.stages,
    };
  }
}

/** Rows that a newer program wrote in a shape unknown here hold no limit, and do not stop the others. */
const rowsOf = (document: unknown): SignalLimit[] =>
  Array.isArray(document) ? document.flatMap((row) => signalLimitSchema.safeParse(row).data ?? []) : [];
