// Whole answers in every written form. Bytes: SAE J1979 and ISO 15765-2/-4 layouts, published traces named beside the rows;
// forms of adapters' text (echo, prompt, numbered lines): common practice, no source.
import { decodeResponses, type ServiceResponse } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

type Transport = 'can' | 'legacy' | null;
type Row = readonly [text: string | readonly string[], transport: Transport, told: readonly string[]];

/** One line a response, `module service content`; problems behind, as `!code`. */
function tell(text: string | readonly string[], transport: Transport): string[] {
  const { responses, problems } = decodeResponses(typeof text === 'string' ? [text] : text, transport);
  return [...responses.map(lineOf), ...problems.map(({ code }) => `!${code}`)];
}

function lineOf(response: ServiceResponse): string {
  return [response.module ?? '-', response.service, ...contentOf(response)].join(' ');
}

function contentOf(response: ServiceResponse): string[] {
  const first = ({ pid, values, raw }: { pid: string; values: { value: unknown }[]; raw: string }) =>
    `${pid}=${values.length === 0 ? raw : values[0]?.value}`;
  switch (response.service) {
    case '01':
      return response.readings.map(first);
    case '02':
      return response.frames.map(({ frame, reading }) => `#${frame} ${first(reading)}`);
    case '04':
      return [];
    case '09':
      return response.info.items;
    case '19':
      return response.codes.map(({ code, ftb }) => `${code}-${ftb}`);
    default:
      return response.codes;
  }
}

const holds = (rows: readonly Row[]) =>
  it.each(rows)('%j %s', (text, transport, told) => expect(tell(text, transport)).toEqual(told));

const VIN = '1D4GP00R55B123456'; // scapy obd tests, service 09 (read)
const VIN_FRAMES = ['10 14 49 02 01 31 44 34', '21 47 50 30 30 52 35 35', '22 42 31 32 33 34 35 36'];
const VIN_LINES = ['014', '0: 49 02 01 31 44 34', '1: 47 50 30 30 52 35 35', '2: 42 31 32 33 34 35 36'];
const SIX = 'P0143 P0196 P0234 P02CD P0357 P0A24'; // scapy obd tests, service 03 (read)

describe('one answer in each form', () => {
  holds([
    ['410C1AF8', null, ['- 01 0C=1726']],
    ['41 0c 1a f8', 'can', ['- 01 0C=1726']],
    ['7e8 04 41 0c 1a f8', 'can', ['7E8 01 0C=1726']],
    ['7e804410c1af8aaaaaa', 'can', ['7E8 01 0C=1726']],
    ['7E804410C1AF8', null, ['7E8 01 0C=1726']],
    ['7EF 04 41 0C 1A F8 55 55 55', 'can', ['7EF 01 0C=1726']],
    ['18daf11004410c1af8', 'can', ['18DAF110 01 0C=1726']],
    ['18DAF1FF 04 41 0C 1A F8', 'can', ['18DAF1FF 01 0C=1726']],
    ['0x41 0x0C 0x1A 0xF8', 'can', ['- 01 0C=1726']],
    ['41:0C:1A:F8', 'can', ['- 01 0C=1726']],
    ['41-0C-1A-F8', 'can', ['- 01 0C=1726']],
    ['\t41 0C 1A F8  \r\n', 'can', ['- 01 0C=1726']],
    ['>41 0C 1A F8', 'can', ['- 01 0C=1726']],
    ['41 0C 1A F8 >', 'can', ['- 01 0C=1726']],
    ['41 0C 1A F8\r\r>', 'can', ['- 01 0C=1726']],
    ['SEARCHING...\r41 0C 1A F8\r>', 'can', ['- 01 0C=1726']],
    ['SEARCHING...41 0C 1A F8', 'can', ['- 01 0C=1726']],
    ['BUS INIT: OK\r41 0C 1A F8', 'legacy', ['- 01 0C=1726']],
    ['BUS INIT: ...OK\r41 0C 1A F8', 'legacy', ['- 01 0C=1726']],
    ['48 6B 10 41 0C 1A F8 22', 'legacy', ['10 01 0C=1726']], // sum of the bytes before
    ['486B10410C1AF822', 'legacy', ['10 01 0C=1726']],
    ['48 6B 10 41 0C 1A F8 B2', 'legacy', ['10 01 0C=1726']], // the cyclic check of SAE J1850 (4B over "123456789")
    ['41 6B 10 41 0C 1A F8 3D', 'legacy', ['10 01 0C=1726']], // pulse width: 41 6B is also PID 6B
    ['41 6B 10 41 0C 1A F8 3D', null, ['10 01 0C=1726']],
    ['41 6B 01 78 00 00 00', null, ['- 01 6B=80']],
    ['48 6B 10 41 0C 1A F8', 'legacy', ['10 01 0C=1726']], // without its checksum
    ['84 F1 11 41 0C 1A F8 E5', 'legacy', ['11 01 0C=1726']],
    ['84F111410C1AF8E5', null, ['11 01 0C=1726']],
    ['80 F1 11 04 41 0C 1A F8 E5', 'legacy', ['11 01 0C=1726']],
    ['(1700000000.000001) can0 7E8#04410C1AF8000000', 'can', ['7E8 01 0C=1726']],
    ['(1700000000.000001) vcan1 18DAF110#04410C1AF8', 'can', ['18DAF110 01 0C=1726']],
  ]);
});

describe('requests, echoes and lines without an answer', () => {
  holds([
    ['010C\r41 0C 1A F8', 'can', ['- 01 0C=1726']],
    ['01 0C\r41 0C 1A F8', null, ['- 01 0C=1726']],
    ['010C1\r41 0C 1A F8', 'can', ['- 01 0C=1726']], // with the number of answers that were waited for
    ['01 0C 0D 05\r41 0C 1A F8 0D 20 05 7B', 'can', ['- 01 0C=1726 0D=32 05=83']],
    ['01 0C 0D 05 0B 0F 11\r41 0C 1A F8', 'can', ['- 01 0C=1726']],
    ['0142\r41 42 36 B0', 'can', ['- 01 42=14']], // 42 and up is also an answer's first byte
    ['0144\r41 44 80 00', 'can', ['- 01 44=1']],
    ['015C\r41 5C 96', 'can', ['- 01 5C=110']],
    ['01 42 5C 46\r41 42 36 B0', 'can', ['- 01 42=14']],
    ['01A6\r41 A6 00 13 D6 20', 'can', ['- 01 A6=130000']],
    ['020C00\r42 0C 00 20 80', 'can', ['- 02 #0 0C=2080']],
    ['024200\r42 42 00 36 B0', 'can', ['- 02 #0 42=14']],
    ['03\r43 00', 'can', ['- 03']],
    ['04\r44', 'can', ['- 04']],
    ['07\r47 01 01 33', 'can', ['- 07 P0133']],
    ['0A\r4A 01 04 20', 'can', ['- 0A P0420']],
    [`0902\r${VIN_LINES.join('\r')}`, 'can', [`- 09 ${VIN}`]],
    ['7DF 02 01 0C 00 00 00 00 00\n7E8 04 41 0C 1A F8', 'can', ['7E8 01 0C=1726']],
    ['7E0 30 00 00 00 00 00 00 00', 'can', []],
    ['18DB33F1 02 01 0C\n18DAF110 04 41 0C 1A F8', 'can', ['18DAF110 01 0C=1726']],
    ['18DA10F1 30 00 00', 'can', []],
    ['', 'can', []],
    ['\r\n\r\n>', 'can', []],
    ['OK', 'can', []],
    ['?', 'can', []],
    ['NO DATA', 'can', ['!response_absent']],
    ['no data\r\r>', 'legacy', ['!response_absent']],
    ['SEARCHING...\rUNABLE TO CONNECT', 'can', ['!response_absent']],
    ['SEARCHING...UNABLE TO CONNECT', 'can', ['!response_absent']],
    ['BUS INIT: ERROR', 'legacy', ['!response_absent']],
    ['BUS INIT: ...ERROR', 'legacy', ['!response_absent']],
    ['CAN ERROR', 'can', ['!response_absent']],
    ['BUFFER FULL', 'can', ['!response_absent']],
    ['41 0C 1A F8\rNO DATA', 'can', ['- 01 0C=1726', '!response_absent']],
    ['7F 01 12', 'can', ['!response_refused']],
    ['7E8 03 7F 01 11', 'can', ['!response_refused']],
    ['7E8 03 7F 03 78\n7E8 02 43 00', 'can', ['7E8 03']], // 78: the answer comes later
    ['7E8 04 41 0C 1A F8\n7E9 03 7F 01 12', 'can', ['7E8 01 0C=1726', '!response_refused']],
    ['83 F1 10 7F 01 12 16', 'legacy', ['!response_refused']],
    ['41 0C 1A F', 'can', ['!hex_invalid']],
    ['41 0C 1A', 'can', ['!response_short']],
    ['41 0G', 'can', ['!hex_invalid']],
    ['<DATA ERROR', 'can', ['!response_absent']],
    ['62 F1 90 31', 'can', ['!service_unknown']],
  ]);
});

describe('several modules and long messages', () => {
  const on = (id: string, frames: readonly string[] = VIN_FRAMES) => frames.map((frame) => `${id} ${frame}`);
  holds([
    ['7E8 04 41 0C 1A F8\n7EA 03 41 0D 20', 'can', ['7E8 01 0C=1726', '7EA 01 0D=32']],
    [on('7E8'), 'can', [`7E8 09 ${VIN}`]],
    [on('18 DA F1 10'), 'can', [`18DAF110 09 ${VIN}`]],
    [on('7E8').map((frame) => frame.replaceAll(' ', '')), 'can', [`7E8 09 ${VIN}`]],
    [on('7E8').map((frame) => frame.toLowerCase()), 'can', [`7E8 09 ${VIN}`]],
    [VIN_FRAMES, 'can', [`- 09 ${VIN}`]],
    [on('7E8').join('|'), null, [`7E8 09 ${VIN}`]],
    // flow control of the tester between the frames
    [[on('7E8')[0]!, '7E0 30 00 00', ...on('7E8').slice(1)], 'can', [`7E8 09 ${VIN}`]],
    [on('7E8').flatMap((frame, at) => [frame, on('7E9')[at]!]), 'can', [`7E8 09 ${VIN}`, `7E9 09 ${VIN}`]],
    [VIN_LINES.join('\n'), 'can', [`- 09 ${VIN}`]],
    [VIN_LINES, 'can', [`- 09 ${VIN}`]], // each line an element of its own
    [VIN_LINES.slice(1).join('\n'), 'can', [`- 09 ${VIN}`]], // without the length
    [VIN_LINES.join('\n').toLowerCase().replaceAll(' ', ''), 'can', [`- 09 ${VIN}`]],
    ['014\n0:490201314434\n1:47503030523535\n2:42313233343536', 'can', [`- 09 ${VIN}`]],
    // a second module's short answer among the numbered lines is not lost
    [`${VIN_LINES.join('\n')}\n43 01 01 33`, 'can', [`- 09 ${VIN}`, '- 03 P0133']],
    ['43 00\n00E\n0: 43 06 01 43 01 96\n1: 02 34 02 CD 03 57 0A\n2: 24', 'can', ['- 03', `- 03 ${SIX}`]],
    [
      '00E\n0: 43 06 01 43 01 96\n43 00\n1: 02 34 02 CD 03 57 0A\n2: 24 00 00 00 00 00 00',
      'can',
      ['- 03', `- 03 ${SIX}`],
    ],
    [`${VIN_LINES.join('\n')}\n${VIN_LINES.join('\n')}`, 'can', [`- 09 ${VIN}`, `- 09 ${VIN}`]],
    ['014\n0: 49 02 01 31 44 34\n2: 42 31 32 33 34 35 36', 'can', ['!frame_order']],
    ['014\n0: 49 02 01 31 44 34', 'can', ['!frame_incomplete']],
    [
      ['7E8 10 0E 43 06 01 43 01 96', '7E8 21 02 34 02 CD 03 57 0A', '7E8 22 24 AA AA AA AA AA AA'],
      'can',
      [`7E8 03 ${SIX}`],
    ],
    // a first frame that follows an unfinished one ends it
    [[on('7E8')[0]!, ...on('7E8')], 'can', [`7E8 09 ${VIN}`, '!frame_incomplete']],
    ['7E8 00 41 0C 1A F8', 'can', ['!frame_invalid']],
    ['7E8 08 41 0C 1A F8 00 00 00', 'can', ['!frame_invalid']],
    ['7E8 10 07 41 00 BE 1F A8 13', 'can', ['!frame_invalid']], // eight bytes are the least
    ['7E8 40 41 0C 1A F8', 'can', ['!frame_invalid']],
    // rl.huuu.biz OBD2 1blz9wo (read): sensors 1, 3, 4 of PID 78
    ['7E8 10 0B 41 78 0D 06 1F 01\n7E8 21 90 03 DA 02 A6 00 00', 'can', ['7E8 01 78=116.7']],
    // the five messages of older buses (layout from memory)
    [
      [
        '49 02 01 00 00 00 31',
        '49 02 02 44 34 47 50',
        '49 02 03 30 30 52 35',
        '49 02 04 35 42 31 32',
        '49 02 05 33 34 35 36',
      ],
      'legacy',
      [`- 09 ${VIN}`],
    ],
    [
      [
        '87 F1 10 49 02 01 00 00 00 31 05',
        '87 F1 10 49 02 02 44 34 47 50 E4',
        '87 F1 10 49 02 03 30 30 52 35 BD',
        '87 F1 10 49 02 04 35 42 31 32 B1',
        '87 F1 10 49 02 05 33 34 35 36 AA',
      ],
      'legacy',
      [`10 09 ${VIN}`],
    ],
  ]);
});

describe('several values in one answer', () => {
  holds([
    ['41 05 7B 0C 1A F8 0D 20', 'can', ['- 01 05=83 0C=1726 0D=32']],
    ['41 06 80 07 80 0D 20', 'can', ['- 01 06=0 07=0 0D=32']],
    ['41 06 80 07', 'can', ['- 01 06=0']], // byte B is bank 3
    [
      '41 00 BE 1F A8 13 20 80 01 80 01',
      'can',
      ['- 01 00=01,03,04,05,06,07,0C,0D,0E,0F,10,11,13,15,1C,1F,20 20=21,30,31,40'],
    ],
    ['41 30 FF 31 FF FF 21 FF FF 4D FF FF 4E FF FF', 'can', ['- 01 30=255 31=65535 21=65535 4D=65535 4E=65535']],
    ['41 30 00 31 00 00 21 00 00 4D 00 00 4E 00 00', 'can', ['- 01 30=0 31=0 21=0 4D=0 4E=0']],
    // the filler of a whole frame behind the last value
    ['41 05 7B 00 00 00 00', 'can', ['- 01 05=83']],
    ['41 05 7B AA AA AA AA', 'can', ['- 01 05=83']],
    ['41 05 7B 55 55 55 55', 'can', ['- 01 05=83']],
    ['41 05 7B CC CC CC CC', 'can', ['- 01 05=83']],
    ['41 05 7B FF FF FF FF', 'can', ['- 01 05=83']],
    ['41 01 81 07 65 04 00', 'can', ['- 01 01=on']],
    ['41 FE 01 02', 'can', ['- 01 FE=0102']], // not in the table: raw
    ['41', 'can', ['!response_short']],
    ['41 0C', 'can', ['!response_short']],
    // scapy obd tests, service 02 (read)
    ['42 0C 00 20 80 04 00 80 05 00 28', 'can', ['- 02 #0 0C=2080 #0 04=50.196078431373 #0 05=0']],
    ['42 02 00 01 33', 'can', ['- 02 #0 02=P0133']],
    ['42 02 00 00 00', 'can', ['- 02 #0 02=null']], // no frame stored
    ['42 05 01 7B', 'can', ['- 02 #1 05=83']],
    ['48 6B 10 42 05 00 7B 85', 'legacy', ['10 02 #0 05=83']],
    ['42 05', 'can', ['!response_short']],
    ['42 05 00', 'can', ['!response_short']],
  ]);
});

describe('code lists', () => {
  holds([
    ['43 00', 'can', ['- 03']],
    ['43 00 00 00 00 00 00', 'can', ['- 03']],
    ['43 00 00 00 00 00 00', 'legacy', ['- 03']],
    ['43 00 00 00 00 00 00', null, ['- 03']],
    ['43 02 01 02 01 13', 'can', ['- 03 P0102 P0113']], // mp3car.com thread 147550 (read)
    ['43 01 33 00 00 00 00', 'legacy', ['- 03 P0133']], // the same
    ['43 01 33 00 00 00 00', 'can', ['- 03 P3300']],
    ['43 01 33 00 00 00 00', null, ['!transport_ambiguous']],
    ['43 06 01 43 01 96 02 34 02 CD 03 57 0A 24', null, [`- 03 ${SIX}`]],
    ['47 06 01 43 01 96 02 34 02 CD 03 57 0A 24', 'can', [`- 07 ${SIX}`]],
    ['4A 06 01 43 01 96 02 34 02 CD 03 57 0A 24', 'can', [`- 0A ${SIX}`]],
    ['43 01 43 01 96 02 34|43 02 CD 03 57 0A 24', 'legacy', ['- 03 P0143 P0196 P0234', '- 03 P02CD P0357 P0A24']],
    ['48 6B 10 43 01 33 00 00 00 00 3A', 'legacy', ['10 03 P0133']],
    ['87 F1 10 43 01 33 41 23 C1 58 00', 'legacy', ['10 03 P0133 C0123 U0158']],
    ['43 02 FF FF 00 00', 'can', ['- 03 U3FFF']], // 0000 is padding even where it is counted
    ['43 01 01 33 AA AA AA', 'can', ['- 03 P0133']],
    ['43 01 01 33 01 34', 'can', ['!code_count']],
    ['43 02 01 33', 'can', ['!code_count']],
    ['43 01 01', 'can', ['!code_count']],
    ['43', 'can', ['!response_short']],
    ['43 01 33 00 00', 'legacy', ['!code_count']],
    ['43 01 33 00 00 00 00 00', 'legacy', ['!code_count']],
    ['44', 'legacy', ['- 04']],
    ['7E8 01 44', 'can', ['7E8 04']],
    // automanuals.wh47n0w.com Failure Type Byte (read): P0110:1C-AF
    ['59 02 FF 01 10 1C AF', 'can', ['- 19 P0110-1C']],
    ['59 02 FF', 'can', ['- 19']],
    ['59 02 FF 01 10 1C AF 00 00 00 00', 'can', ['- 19 P0110-1C']],
    ['59 02 FF 01 10 1C', 'can', ['!code_count']],
    ['59 01 FF 01 00 01', 'can', ['!service_unknown']],
    ['7E8 10 0B 59 02 FF 01 10 1C\n7E8 21 AF 22 74 00 64 00 00', 'can', ['7E8 19 P0110-1C P2274-00']],
  ]);
});
