import type { DecodeProblem } from '../decode-problem.js';
import { FullScales } from '../obd/full-scales.js';
import { createIsoTp } from '../obd/iso-tp.js';
import type { PidReading, PidValue } from '../obd/pid.js';
import { decodeService, type ServiceResponse } from '../obd/service.js';
import type { CaptureBinding, CaptureBindings } from './capture-bindings.js';
import type { CaptureSignalCount } from './capture-report.js';

interface Context {
  bindings: CaptureBindings;
  counts: Map<string, CaptureSignalCount>;
  onValue(binding: CaptureBinding, value: number): void;
  onProblem(problem: DecodeProblem): void;
}

/** Answers kept, one a module, service and parameter. */
const MAX_ANSWERS = 2_000;

/** Answers of control modules to a tester on the same bus (ISO 15765-4): parameters feed signals, the rest is reported. */
export class DiagnosticAnswers {
  private readonly isoTp = createIsoTp();
  private readonly answers = new Map<string, ServiceResponse>();
  /** In force from the message on that announces them: what came before is decoded already. */
  private readonly scales = new FullScales();

  constructor(private readonly context: Context) {}

  push(module: string, bus: string, data: Uint8Array): void {
    const { message, problem } = this.isoTp.push(`${bus} ${module}`, data);
    if (problem) this.context.onProblem(problem);
    if (!message) return;
    const response = this.decode(message, `${bus} ${module}`);
    if (!response.ok) {
      this.context.onProblem(response.problem);
      return;
    }
    const { value } = response;
    if (value.service === '01') for (const item of value.readings) this.reading(item, { module, bus });
    else
      this.keep(`${bus} ${module} ${value.service} ${'info' in value ? value.info.infoType : ''}`, {
        module,
        ...value,
      });
  }

  private decode(message: Uint8Array, module: string): ReturnType<typeof decodeService> {
    const read = () => decodeService(message, 'can', { maxima: this.scales.of(module) ?? {} });
    const response = read();
    const isNew = response.ok && response.value.service === '01' && this.scales.see(module, response.value.readings);
    return isNew ? read() : response;
  }

  /** The latest of each module, service and parameter that is not a signal. */
  latest(): ServiceResponse[] {
    return [...this.answers.values()];
  }

  vin(): string | null {
    for (const answer of this.answers.values()) {
      if (answer.service === '09' && answer.info.kind === 'vin') return answer.info.items[0] ?? null;
    }
    return null;
  }

  finish(): DecodeProblem[] {
    return this.isoTp.finish();
  }

  private keep(key: string, response: ServiceResponse): void {
    if (this.answers.has(key) || this.answers.size < MAX_ANSWERS) this.answers.set(key, response);
  }

  private reading(item: PidReading, from: { module: string; bus: string }): void {
    const signals = item.values.filter((value) => value.signal !== null);
    if (signals.length === 0) {
      const { module, bus } = from;
      this.keep(`${bus} ${module} 01 ${item.pid}`, { module, service: '01', readings: [item] });
    }
    for (const value of signals) this.count(item, value, from);
  }

  private count(item: PidReading, value: PidValue, from: { module: string; bus: string }): void {
    const count = countOf(this.context.counts, item, value, from);
    if (value.state !== 'ok' || typeof value.value !== 'number') {
      if (value.state === 'suspect') count.reserved++;
      else count.notAvailable++;
      return;
    }
    count.valid++;
    count.min = count.min === null ? value.value : Math.min(count.min, value.value);
    count.max = count.max === null ? value.value : Math.max(count.max, value.value);
    const binding = this.context.bindings.pid(Number.parseInt(item.pid, 16), value.field, from.module, from.bus);
    if (binding) this.context.onValue(binding, value.value);
  }
}

/** Identifiers on which modules answer: 7E8 to 7EF, 18DAF1xx; the name as people write it, or null. */
export function moduleOfId(id: number, extended: boolean): string | null {
  const answers = extended ? id >>> 8 === 0x18daf1 : id >= 0x7e8 && id <= 0x7ef;
  return answers ? id.toString(16).toUpperCase() : null;
}

function countOf(
  counts: Map<string, CaptureSignalCount>,
  { pid }: PidReading,
  { field, label, unit }: PidValue,
  { module, bus }: { module: string; bus: string },
): CaptureSignalCount {
  const key = `${pid} ${field} ${module} ${bus}`;
  const known = counts.get(key);
  if (known) return known;
  const none = { valid: 0, notAvailable: 0, error: 0, reserved: 0, absent: 0, min: null, max: null };
  const count = { parameter: `PID ${pid} ${field}`, name: label, unit: unit ?? '', bus, source: null, module, ...none };
  counts.set(key, count);
  return count;
}
