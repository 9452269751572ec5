import type { MonitorStatus, PidReading, PidValue, ServiceResponse } from '@tallybay/decode';
import { plural, valueText } from '../output/numbers.js';
import { tableLines } from '../output/table.js';

/** One response as a person reads it; what is not there says so and is never a number. */
export function responseLines(response: ServiceResponse): string[] {
  const from = response.module ? `${response.module}: ` : '';
  switch (response.service) {
    case '01':
      return response.readings.flatMap((reading) => readingLines(reading, from));
    case '02':
      return response.frames.flatMap(({ frame, reading }) => readingLines(reading, `${from}freeze frame ${frame}, `));
    case '04':
      return [`${from}codes cleared`];
    case '09':
      return [`${from}${response.info.kind} (info type ${response.info.infoType})`, ...infoItems(response.info)];
    case '19':
      return [`${from}${plural(response.codes.length, 'code')}`, ...response.codes.map(udsLine)];
    default:
      return [`${from}${plural(response.codes.length, `${response.status} code`)}`, ...response.codes.map(indent)];
  }
}

function readingLines(reading: PidReading, from: string): string[] {
  const head = `${from}PID ${reading.pid} ${reading.label}`;
  if (!reading.known) return [`${head}: bytes ${reading.raw}`];
  const rows = reading.values.map((value) => [value.label, readingText(value), value.unit ?? '', value.signal ?? '']);
  const columns = [
    { title: 'value' },
    { title: 'reads', align: 'right' as const },
    { title: 'unit' },
    { title: 'signal' },
  ];
  const monitors = reading.monitorStatus ? monitorLines(reading.monitorStatus) : [];
  return [head, ...(monitors.length > 0 ? monitors : tableLines(columns, rows)).map(indent)];
}

function readingText(value: PidValue): string {
  if (value.state !== 'ok' || value.value === null) return value.state;
  if (Array.isArray(value.value)) return value.value.join(', ') || 'none';
  return typeof value.value === 'number' ? valueText(value.value, 6) : value.value;
}

function monitorLines(status: MonitorStatus): string[] {
  const lamp = status.lampOn === null ? [] : [`lamp ${status.lampOn ? 'on' : 'off'}`];
  const count = status.codeCount === null ? [] : [plural(status.codeCount, 'confirmed code')];
  const rows = status.monitors.map((monitor) => [monitor.id, monitorState(monitor)]);
  return [
    [...lamp, ...count, `${status.ignition} ignition`].join(', '),
    ...tableLines([{ title: 'monitor' }, { title: 'state' }], rows),
  ];
}

const monitorState = (monitor: { supported: boolean; complete: boolean }): string =>
  monitor.supported ? (monitor.complete ? 'complete' : 'not complete') : 'not supported';

const infoItems = (info: { items: string[]; raw: string }): string[] =>
  (info.items.length > 0 ? info.items : [info.raw]).map(indent);

const udsLine = (code: { code: string; ftb: string; failureType: string | null; status: string[] }): string =>
  indent(
    `${code.code}-${code.ftb}  ${code.failureType ?? 'failure type not listed'}  ${code.status.join(', ')}`.trimEnd(),
  );

const indent = (line: string): string => `  ${line}`;
