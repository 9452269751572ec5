import type { DecodeProblem } from '../decode-problem.js';
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
export function createDiagnosticAnswers({ bindings, counts, onValue, onProblem }: Context): {
  push(module: string, bus: string, data: Uint8Array): void;
  latest(): ServiceResponse[];
  vin(): string | null;
  finish(): DecodeProblem[];
} {
  const isoTp = createIsoTp();
  const answers = new Map<string, ServiceResponse>();

  const keep = (key: string, response: ServiceResponse): void => {
    if (answers.has(key) || answers.size < MAX_ANSWERS) answers.set(key, response);
  };

  const reading = (module: string, bus: string, item: PidReading): void => {
    const pid = Number.parseInt(item.pid, 16);
    for (const value of item.values) {
      if (value.signal === null) continue;
      const count = countOf(counts, item, value, { module, bus });
      if (value.state !== 'ok' || typeof value.value !== 'number') {
        if (value.state === 'suspect') count.reserved++;
        else count.notAvailable++;
        continue;
      }
      count.valid++;
      count.min = count.min === null ? value.value : Math.min(count.min, value.value);
      count.max = count.max === null ? value.value : Math.max(count.max, value.value);
      const binding = bindings.pid(pid, value.field, module, bus);
      if (binding) onValue(binding, value.value);
    }
    const without = item.values.every((value) => value.signal === null);
    if (without) keep(`${bus} ${module} 01 ${item.pid}`, { module, service: '01', readings: [item] });
  };

  return {
    push(module, bus, data) {
      const { message, problem } = isoTp.push(`${bus} ${module}`, data);
      if (problem) onProblem(problem);
      if (!message) return;
      const response = decodeService(message, 'can');
      if (!response.ok) {
        onProblem(response.problem);
        return;
      }
      const { value } = response;
      if (value.service === '01') for (const item of value.readings) reading(module, bus, item);
      else
        keep(`${bus} ${module} ${value.service} ${'info' in value ? value.info.infoType : ''}`, { module, ...value });
    },
    latest: () => [...answers.values()],
    vin() {
      for (const answer of answers.values()) {
        if (answer.service === '09' && answer.info.kind === 'vin') return answer.info.items[0] ?? null;
      }
      return null;
    },
    finish: () => isoTp.finish(),
  };
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
