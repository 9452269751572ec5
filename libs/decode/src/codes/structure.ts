/** What the characters of any code say, known or not. Source: SAE J2012, third character of P0 read, the rest from memory. */
export interface CodeStructure {
  letter: 'P' | 'C' | 'B' | 'U';
  area: string;
  /** `reserved`: the number is kept free by the standard. */
  owner: 'generic' | 'manufacturer' | 'reserved';
  /** Third character of powertrain codes; null elsewhere. */
  subsystem: string | null;
}

const AREAS = { P: 'powertrain', C: 'chassis', B: 'body', U: 'network' } as const;

const SUBSYSTEMS: Readonly<Record<string, string>> = {
  '0': 'fuel, air and auxiliary emission control',
  '1': 'fuel and air metering',
  '2': 'fuel and air metering, injector circuit',
  '3': 'ignition or misfire',
  '4': 'auxiliary emission control',
  '5': 'vehicle speed, idle and auxiliary inputs',
  '6': 'control module and outputs',
  '7': 'transmission',
  '8': 'transmission',
  '9': 'transmission',
  A: 'hybrid propulsion',
  B: 'hybrid propulsion',
  C: 'hybrid propulsion',
};

/** Null for text that is no code. */
export function codeStructure(code: string): CodeStructure | null {
  const match = /^([PCBU])([0-3])([0-9A-F])([0-9A-F]{2})$/.exec(code.trim().toUpperCase());
  if (!match) return null;
  const letter = match[1] as CodeStructure['letter'];
  const [, , digit = '0', third = '0', tail = '00'] = match;
  return {
    letter,
    area: AREAS[letter],
    owner: ownerOf(letter, digit, Number.parseInt(third + tail, 16)),
    subsystem: letter === 'P' ? (SUBSYSTEMS[third] ?? null) : null,
  };
}

/** 0 generic; 1 maker; 2 generic for P, else maker; 3 maker up to P33FF, generic from P3400, U3 generic, C3 and B3 reserved. */
function ownerOf(letter: CodeStructure['letter'], digit: string, number: number): CodeStructure['owner'] {
  if (digit === '0') return 'generic';
  if (digit === '1') return 'manufacturer';
  if (digit === '2') return letter === 'P' ? 'generic' : 'manufacturer';
  if (letter === 'P') return number >= 0x400 ? 'generic' : 'manufacturer';
  return letter === 'U' ? 'generic' : 'reserved';
}
