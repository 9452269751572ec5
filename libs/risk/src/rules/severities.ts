/** How bad a code is for the vehicle, 0..1, by the structure of its number. First row that fits counts. */
export interface SeverityRow {
  /** `P0480-P0485`, one code, or a family such as `P07xx`; for J1939 `SPN 110 FMI 0`, `SPN 110`, or `FMI 0`. */
  match: string;
  severity: number;
  what: string;
  source: string;
}

const J2012 = 'name of the code as in SAE J2012 (from memory); severity is judgement';
const J1939 = 'SAE J1939-73 failure modes: 15 least, 16 moderate, 0 most severe above normal; severity is judgement';

export const SEVERITY_ROWS: readonly SeverityRow[] = [
  o('P0217', 1, 'engine coolant over temperature'),
  o('P0218', 0.95, 'transmission fluid over temperature'),
  o('P0298', 1, 'engine oil over temperature'),
  o('P0520-P0524', 0.9, 'engine oil pressure'),
  o('P0A93', 0.8, 'inverter cooling'),
  o('P2181', 0.7, 'cooling system performance'),
  o('P0480-P0485', 0.7, 'cooling fan control'),
  o('P0300-P0312', 0.8, 'misfire'),
  o('P0127', 0.6, 'intake air too hot'),
  o('P0128', 0.35, 'coolant below thermostat temperature'),
  o('P0115-P0119', 0.4, 'coolant temperature sensor circuit'),
  o('P0420-P0434', 0.4, 'catalyst efficiency'),
  o('P0440-P0459', 0.2, 'evaporative system'),
  o('P0087', 0.7, 'fuel rail pressure too low'),
  o('P00xx', 0.4, 'fuel and air metering'),
  o('P01xx', 0.4, 'fuel and air metering'),
  o('P02xx', 0.5, 'injector circuit'),
  o('P03xx', 0.5, 'ignition'),
  o('P04xx', 0.3, 'auxiliary emission controls'),
  o('P05xx', 0.35, 'vehicle speed and idle control'),
  o('P06xx', 0.5, 'computer output circuit'),
  o('P07xx', 0.6, 'transmission'),
  o('P08xx', 0.6, 'transmission'),
  o('P0xxx', 0.5, 'hybrid propulsion'),
  o('Pxxxx', 0.4, 'powertrain'),
  o('Cxxxx', 0.5, 'chassis'),
  o('Uxxxx', 0.35, 'network'),
  o('Bxxxx', 0.15, 'body'),
  ...spn(110, 'engine coolant temperature', 1),
  ...spn(175, 'engine oil temperature', 1),
  ...spn(177, 'transmission oil temperature', 0.95),
  { match: 'SPN 100 FMI 1', severity: 0.95, what: 'engine oil pressure severely low', source: J1939 },
  { match: 'SPN 100 FMI 18', severity: 0.75, what: 'engine oil pressure low', source: J1939 },
  { match: 'SPN 111 FMI 1', severity: 0.9, what: 'coolant level severely low', source: J1939 },
  { match: 'SPN 111 FMI 18', severity: 0.7, what: 'coolant level low', source: J1939 },
  { match: 'FMI 0', severity: 0.7, what: 'severely above normal', source: J1939 },
  { match: 'FMI 1', severity: 0.7, what: 'severely below normal', source: J1939 },
  { match: 'FMI 16', severity: 0.55, what: 'moderately above normal', source: J1939 },
  { match: 'FMI 18', severity: 0.55, what: 'moderately below normal', source: J1939 },
  { match: 'FMI 15', severity: 0.35, what: 'slightly above normal', source: J1939 },
  { match: 'FMI 17', severity: 0.35, what: 'slightly below normal', source: J1939 },
  { match: 'FMI 9', severity: 0.3, what: 'network update rate', source: J1939 },
  { match: 'FMI 19', severity: 0.3, what: 'network data', source: J1939 },
];

/** For a code that no row fits. */
export const UNKNOWN_SEVERITY: Omit<SeverityRow, 'match'> = {
  severity: 0.4,
  what: 'code without a severity row',
  source: 'judgement, no source',
};

function o(match: string, severity: number, what: string): SeverityRow {
  return { match, severity, what, source: J2012 };
}

function spn(number: number, what: string, most: number): SeverityRow[] {
  return [
    { match: `SPN ${number} FMI 0`, severity: most, what: `${what} severely high`, source: J1939 },
    { match: `SPN ${number} FMI 16`, severity: 0.8 * most, what: `${what} moderately high`, source: J1939 },
    { match: `SPN ${number} FMI 15`, severity: 0.5 * most, what: `${what} slightly high`, source: J1939 },
  ];
}

/** The severity of one code: the first row that fits, else UNKNOWN_SEVERITY. */
export function severityOf(
  rows: readonly SeverityRow[],
  code: string,
): { severity: number; what: string; source: string } {
  return rows.find((row) => fits(row.match, code.trim().toUpperCase())) ?? UNKNOWN_SEVERITY;
}

function fits(match: string, code: string): boolean {
  if (code === match.toUpperCase()) return true;
  if (match.startsWith('SPN')) return !match.includes('FMI') && code.startsWith(`${match} `);
  if (match.startsWith('FMI')) return code.startsWith('SPN') && code.endsWith(` ${match}`);
  const [from, to] = match.split('-');
  if (to !== undefined) return code.length === from!.length && code >= from! && code <= to;
  const family = match.replace(/x+$/, '');
  return family !== match && code.length === match.length && code.startsWith(family);
}
