import { classifyError } from '@tallybay/contracts';
import { z } from 'zod';

const checkSchema = z.object({ name: z.string(), ok: z.boolean(), detail: z.string().nullable() });
export const readinessSchema = z.object({ ready: z.boolean(), checks: z.array(checkSchema) });

/** Asks each part to do a small real thing. */
export class Readiness {
  private stopping = false;

  get draining(): boolean {
    return this.stopping;
  }

  /** @param parts name -> a call that rejects when the part cannot be used */
  constructor(private readonly parts: Record<string, () => Promise<void>>) {}

  /** From now on not ready, whatever the parts say. */
  drain(): void {
    this.stopping = true;
  }

  async report(): Promise<z.infer<typeof readinessSchema>> {
    const checks = await Promise.all(Object.entries(this.parts).map(([name, ask]) => check(name, ask)));
    if (this.stopping) checks.push({ name: 'process', ok: false, detail: 'is stopping' });
    return { ready: checks.every((one) => one.ok), checks };
  }
}

async function check(name: string, ask: () => Promise<void>): Promise<z.infer<typeof checkSchema>> {
  try {
    await ask();
    return { name, ok: true, detail: null };
  } catch (error) {
    return { name, ok: false, detail: classifyError(error).message };
  }
}
