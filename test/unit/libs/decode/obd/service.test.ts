// Services 01, 02, 03, 07, 09, 0A and 19. Traces: scapy obd tests; mp3car.com thread 147550; rl.huuu.biz 1blz9wo (read).
import { decodeResponses, type ServiceResponse } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

type Transport = 'can' | 'legacy' | null;
const read = (texts: string | string[], transport: Transport = 'can') =>
  decodeResponses(typeof texts === 'string' ? [texts] : texts, transport);

const codes = (response: ServiceResponse | undefined) => (response && 'codes' in response ? response.codes : null);
const values = (response: ServiceResponse | undefined) =>
  response?.service === '01' ? response.readings.map((reading) => reading.values[0]?.value) : null;

const COOLANT_83 = [
  ['41 05 7B', null],
  ['41057B', null],
  ['7E8 03 41 05 7B', '7E8'],
  ['7E8 03 41 05 7B 00 00 00 00', '7E8'],
  ['7E80341057B', '7E8'],
  ['7E8#0341057B', '7E8'],
  ['(1648577125.37) can0 7E8#0341057BAAAAAAAA', '7E8'],
  ['18 DA F1 10 03 41 05 7B', '18DAF110'],
  ['18DAF1100341057B', '18DAF110'],
  ['18DAF110 0341057B', '18DAF110'],
  ['0105\r\n41 05 7B\r\n\r\n>', null],
  ['SEARCHING...\n41 05 7B', null],
  ['03 41 05 7B', null],
] as const;

describe('framing of a service 01 answer', () => {
  it.each(COOLANT_83)('reads 83 degC from %j', (text, module) => {
    const { responses, problems } = read(text);
    expect(problems).toEqual([]);
    expect(responses).toHaveLength(1);
    expect(responses[0]).toMatchObject({ service: '01', module });
    expect(values(responses[0])).toEqual([83]);
  });

  it.each([
    ['48 6B 10 41 05 7B 84', '10'], // ISO 9141-2, sum
    ['83 F1 10 41 05 7B 45', '10'], // ISO 14230
    ['80 F1 10 03 41 05 7B 45', '10'],
    ['41 05 7B', null],
  ])('takes the header off %j on older buses (layouts from memory)', (text, module) => {
    const { responses, problems } = read(text, 'legacy');
    expect(problems).toEqual([]);
    expect(responses[0]?.module).toBe(module);
    expect(values(responses[0])).toEqual([83]);
  });

  it('joins frames of two modules that come between each other', () => {
    const { responses, problems } = read(
      '7E8 10 0B 41 78 0D 06 1F 01\n7E9 10 0B 41 78 01 06 1F 00\n7E8 21 90 03 DA 02 A6 00 00\n7E9 21 00 00 00 00 00',
    );
    expect(problems).toEqual([]);
    const egts = responses.map((response) =>
      response.service === '01' ? [response.module, response.readings[0]?.values.map((value) => value.value)] : null,
    );
    expect(egts).toEqual([
      ['7E8', [116.7, null, 58.6, 27.8]],
      ['7E9', [116.7, null, null, null]],
    ]);
  });

  it('reads several parameters of one answer by their lengths', () => {
    expect(values(read('41 05 7B 0C 1A F8 0D 20').responses[0])).toEqual([83, 1726, 32]);
  });

  it('says what is missing: a lost frame, no first frame, no end', () => {
    expect(read('7E8 10 14 49 02 01 31 44 34|7E8 22 47 50 30 30 52 35 35').problems[0]?.code).toBe('frame_order');
    expect(read('7E8 21 47 50 30 30 52 35 35').problems[0]?.code).toBe('frame_order');
    expect(read('7E8 10 14 49 02 01 31 44 34').problems[0]).toMatchObject({ code: 'frame_incomplete' });
    expect(read('NO DATA').problems[0]?.code).toBe('response_absent');
    expect(read('7F 01 12').problems[0]).toMatchObject({ code: 'response_refused' });
    expect(read('41 0Z').problems[0]?.code).toBe('hex_invalid');
    expect(read('7E8 03 41 0D').problems[0]?.code).toBe('frame_invalid');
  });

  it('goes on after a line it cannot read', () => {
    const { responses, problems } = read('7E8 03 41 05\n7E8 03 41 05 7B');
    expect(problems).toHaveLength(1);
    expect(values(responses[0])).toEqual([83]);
  });
});

describe('freeze frame (service 02)', () => {
  it('reads frame number and values (scapy obd tests)', () => {
    const [response] = read('42 0C 00 20 80 04 00 80 05 00 28').responses;
    const frames = response?.service === '02' ? response.frames : [];
    expect(frames.map(({ frame, reading }) => [frame, reading.values[0]?.value])).toEqual([
      [0, 2080],
      [0, expect.closeTo(50.196, 3)],
      [0, 0],
    ]);
  });
});

describe('trouble codes (services 03, 07, 0A, 19)', () => {
  it.each([
    ['43 02 01 02 01 13', 'can', '03', ['P0102', 'P0113']],
    ['47 01 01 33', 'can', '07', ['P0133']],
    ['4A 01 04 20', 'can', '0A', ['P0420']],
    ['43 00', 'can', '03', []],
    ['43 01 33 00 00 00 00', 'legacy', '03', ['P0133']],
    ['43 01 33 00 00 00 00', 'can', '03', ['P3300']],
  ] as const)('%s on %s', (hex, transport, service, expected) => {
    const { responses, problems } = read(hex, transport);
    expect(problems).toEqual([]);
    expect(responses[0]?.service).toBe(service);
    expect(codes(responses[0])).toEqual(expected);
  });

  it('does not choose where the bytes fit both transports', () => {
    const [problem] = read('43 01 33 00 00 00 00', null).problems;
    expect(problem).toMatchObject({ code: 'transport_ambiguous' });
    expect(problem?.detail).toContain('P3300');
    expect(problem?.detail).toContain('P0133');
  });

  it('refuses a count that does not fit, and says what else it may be', () => {
    const [problem] = read('43 01 33 02 17 03 01', 'can').problems;
    expect(problem).toMatchObject({ code: 'code_count' });
    expect(problem?.advice).toContain('legacy');
    expect(read('43 06 01 43', 'can').problems[0]?.code).toBe('code_count');
    expect(read('43 00', 'legacy').problems[0]?.code).toBe('code_count');
  });

  it('reads six codes over two frames', () => {
    const text = '7E8 10 0E 43 06 01 43 01 96|7E8 21 02 34 02 CD 03 57 0A|7E8 22 24 00 00 00 00 00 00';
    expect(codes(read(text).responses[0])).toEqual(['P0143', 'P0196', 'P0234', 'P02CD', 'P0357', 'P0A24']);
  });

  it('reads three-byte codes with failure type and status (maker example P0110:1C-AF)', () => {
    const [response] = read('59 02 FF 01 10 1C AF').responses;
    expect(codes(response)).toEqual([
      expect.objectContaining({ code: 'P0110', ftb: '1C', failureType: 'circuit voltage out of range' }),
    ]);
  });
});

// SAE J1979 (layout from memory): byte D of PID 4F is the full scale of manifold pressure in tens of kPa.
describe('full scales (PID 4F)', () => {
  const answers = ['7E8 03 41 0B FF', '7E9 03 41 0B FF', '7E8 06 41 4F 00 00 00 64'];

  it('hold for every answer of the module that announces them, and for no other', () => {
    expect(read(answers).responses.slice(0, 2).map(values)).toEqual([[1000], [255]]);
  });

  it('give way to a scale that the caller names', () => {
    const { responses } = decodeResponses(answers, 'can', { maxima: { manifoldPressureKpa: 500 } });
    expect(responses.slice(0, 2).map(values)).toEqual([[500], [500]]);
  });
});

describe('vehicle information (service 09)', () => {
  const VIN = '1D4GP00R55B123456';
  const vinOf = (response: ServiceResponse | undefined) =>
    response?.service === '09' && response.info.kind === 'vin' ? response.info.items : null;

  it('reads the VIN of a multi-frame answer, with headers and as numbered lines', () => {
    const framed = '7E8 10 14 49 02 01 31 44 34|7E8 21 47 50 30 30 52 35 35|7E8 22 42 31 32 33 34 35 36';
    const numbered = '014\n0: 49 02 01 31 44 34\n1: 47 50 30 30 52 35 35\n2: 42 31 32 33 34 35 36';
    expect(vinOf(read(framed).responses[0])).toEqual([VIN]);
    expect(vinOf(read(numbered).responses[0])).toEqual([VIN]);
  });

  it('joins the five messages of older buses (layout from memory)', () => {
    const messages = [
      '49 02 01 00 00 00 31',
      '49 02 02 44 34 47 50',
      '49 02 03 30 30 52 35',
      '49 02 04 35 42 31 32',
      '49 02 05 33 34 35 36',
    ];
    expect(vinOf(read(messages, 'legacy').responses[0])).toEqual([VIN]);
    expect(read(messages.slice(0, 3), 'legacy').problems[0]?.code).toBe('response_short');
  });
});
