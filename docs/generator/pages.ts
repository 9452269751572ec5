import {
  CATALOGUE_VERSION,
  CODE_ROWS,
  CODE_SOURCE,
  DM_PGNS,
  FMI_TEXT,
  PID_ROWS,
  type PidField,
  pidName,
  SIGNALS,
  type SignalRow,
  SPN_ROWS,
} from '@tallybay/decode';

const NOTICE = '<!-- Generated from the tables of libs/decode by `npm run reference`. Do not edit. -->';
const MARKS = { read: 'read', memory: 'from memory', part: 'partly from memory' } as const;

/** Every reference page: file name to content. A unit test holds docs/reference to it. */
export function referencePages(): Record<string, string> {
  return { 'signals.md': signalsPage(), 'pids.md': pidsPage(), 'j1939.md': j1939Page(), 'codes.md': codesPage() };
}

function page(title: string, ...parts: string[]): string {
  return `${[NOTICE, `# ${title}`, ...parts].join('\n\n')}\n`;
}

function table(heads: string[], rows: string[][]): string {
  const line = (cells: string[]): string => `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
  return [line(heads), line(heads.map(() => '---')), ...rows.map(line)].join('\n');
}

function signalsPage(): string {
  const rows = SIGNALS.map((row: SignalRow) => [
    `\`${row.id}\``,
    row.label,
    row.unit,
    `${row.min} to ${row.max}`,
    row.refs.map((ref) => `${ref.standard === 'SAE J1979' ? 'PID' : 'SPN'} ${ref.id}`).join(', '),
    [...new Set(row.refs.map((ref) => `${ref.standard}: ${ref.source}`))].join('; ') || 'trade usage, no standard',
  ]);
  return page(
    `Signal catalogue, version ${CATALOGUE_VERSION}`,
    `${rows.length} signals. Values outside the plausible range are counted and left out.`,
    table(['id', 'signal', 'unit', 'plausible', 'standards', 'source'], rows),
  );
}

function pidsPage(): string {
  const rows = PID_ROWS.map((row) => [
    pidName(row.pid),
    row.label,
    row.minBytes === row.maxBytes ? `${row.bytes}` : `${row.minBytes} to ${row.maxBytes}`,
    row.fields.map(fieldText).join('<br>') || 'bytes kept as they are',
    `${row.source} (${MARKS[row.mark]})`,
  ]);
  return page(
    'Parameters of services 01 and 02',
    `${rows.length} parameters. Bytes are named A, B, C … after the parameter's number; u = the unsigned number of the bytes, ` +
      'most significant first; s = the same as two\'s complement. "if A0" = only where bit 0 of byte A is set, else no value.',
    table(['PID', 'parameter', 'bytes', 'values', 'source'], rows),
  );
}

const letters = (at: number, bytes: number): string =>
  Array.from({ length: bytes }, (_, index) => String.fromCharCode(65 + at + index)).join('');

function fieldText(field: PidField): string {
  if (field.kind !== 'number') return `${letters(field.at, 1)}: ${field.label} (${field.kind})`;
  const raw = `${field.signed ? 's' : 'u'}(${letters(field.at, field.bytes)})`;
  const scaled = `${raw}${field.mul === 1 ? '' : ` × ${field.mul}`}${field.div === 1 ? '' : ` / ${field.div}`}`;
  const moved = field.offset === 0 ? '' : field.offset > 0 ? ` + ${field.offset}` : ` − ${-field.offset}`;
  const when = field.support === null ? '' : `, if A${field.support}`;
  const signal = field.signal === null ? '' : ` → \`${field.signal}\``;
  return `${field.label} = ${scaled}${moved} ${field.unit}${when}${signal}`;
}

function j1939Page(): string {
  const spns = SPN_ROWS.map((row) => [
    `${row.spn}`,
    row.name,
    `${row.pgn} (${row.pgn.toString(16).toUpperCase()})`,
    row.bytes === 1 ? `${row.startByte}` : `${row.startByte}-${row.startByte + row.bytes - 1}`,
    `${row.mul / row.div}`,
    `${row.offset}`,
    row.unit,
    row.signal === null ? '' : `\`${row.signal}\``,
    `${row.source} (${MARKS[row.mark]})`,
  ]);
  const dms = Object.entries(DM_PGNS).map(([name, pgn]) => [name, `${pgn} (${pgn.toString(16).toUpperCase()})`]);
  const fmis = FMI_TEXT.map((text, fmi) => [`${fmi}`, text]);
  return page(
    'J1939 parameters and diagnostic messages',
    'Least significant byte first. Reserved, error and not-available raw values never become numbers.',
    table(['SPN', 'parameter', 'PGN', 'bytes', 'per bit', 'offset', 'unit', 'signal', 'source'], spns),
    '## Diagnostic messages',
    table(['message', 'PGN'], dms),
    '## Failure modes',
    table(['FMI', 'meaning'], fmis),
  );
}

function codesPage(): string {
  const rows = CODE_ROWS.map((row) => [row.code, row.text, row.system, row.severity, row.blocks.join(', ')]);
  return page(
    'Trouble codes with a description',
    `${rows.length} generic codes. Source: ${CODE_SOURCE}. Severity and the monitors that a code keeps from completing are ` +
      'common practice, no source. Other codes get system and subsystem from their structure.',
    table(['code', 'meaning', 'system', 'severity', 'monitors held back'], rows),
  );
}
