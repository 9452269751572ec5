import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import type { UploadReceipt } from '@tallybay/contracts';
import { Lake } from '@tallybay/lake';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { IngestService } from '../../service/ingest-service.js';

// Published logs, uploaded over HTTP and asked for in the lake. Sources and licences stand beside the files:
// KIT: Marc Weber, "Automotive OBD-II Dataset", doi:10.35097/1130, CC BY 4.0; truck: yabskbd/remora_ctrl_proto, MIT;
// car-csv-no-coolant: RafaelN9/elm-data-read, MIT. The figures were computed from the files by an independent program
// under the rule that the docs state: a value holds to the next valid one, steps over 5 s count for nothing.

const fixtures = new URL('../../fixtures/', import.meta.url).pathname;
const home = mkdtempSync(join(tmpdir(), 'tallybay-published-'));
let service: IngestService;
let lake: Lake;
const ids = new Map<string, string>();

const KIT = 'logs/kit-obd/2017-07-26_Seat_Leon_S_KA_Normal.csv';
const FILES: [file: string, query: string][] = [
  [KIT, 'vehicle=KIT&timeZone=Europe/Berlin'],
  ['logs/kit-obd/2017-07-14_Seat_Leon_KA_KA_Frei.csv', 'vehicle=KIT&timeZone=Europe/Berlin'],
  ['logs/kit-obd/2017-08-01_Seat_Leon_KA_KA_Frei.csv', 'vehicle=KIT&timeZone=Europe/Berlin'],
  ['logs/kit-obd/2018-02-26_Seat_Leon_RT_KA_Normal.first4000rows.csv', 'vehicle=KIT&timeZone=Europe/Berlin'],
  ['logs/truck-j1939/2022-03-29_drive-600s_1hz.csv', 'vehicle=TRUCK-ISO'],
  ['logs/truck-j1939/2022-03-29_drive-600s_1hz_de.csv', 'vehicle=TRUCK-DE&timeZone=UTC'],
  ['logs/truck-j1939/2022-03-29_drive-600s_1hz_us.csv', 'vehicle=TRUCK-US&timeZone=UTC'],
  ['logs/car-csv-no-coolant/data_log.csv', 'vehicle=CAR&recordedAt=2023-05-01T22:01:53Z'],
  ['can/truck/2022-03-29_drive-600s.can1.log.gz', 'vehicle=TRUCK-RAW'],
];

beforeAll(async () => {
  service = await IngestService.start(home, ['KIT', 'TRUCK-ISO', 'TRUCK-DE', 'TRUCK-US', 'TRUCK-RAW', 'CAR']);
  for (const [file, query] of FILES) ids.set(file, (await send(file, query)).id);
  for (const id of ids.values()) expect(await service.untilDone(id)).toMatchObject({ state: 'stored', problem: null });
  lake = await Lake.open(service.lake);
});
afterAll(async () => {
  lake?.close();
  await service?.stop();
  rmSync(home, { recursive: true });
});

async function send(file: string, query: string, body = readFileSync(join(fixtures, file))): Promise<UploadReceipt> {
  const name = encodeURIComponent(file.split('/').pop()!);
  const response = await fetch(`${service.url}/v1/logs?${query}&fileName=${name}`, { method: 'POST', body });
  expect([200, 202], await response.clone().text()).toContain(response.status);
  return (await response.json()) as UploadReceipt;
}

const number = z.object({ v: z.number().nullable() });
const one = async (sql: string, file: string) =>
  (await lake.query(sql, number, { upload: ids.get(file)! }))[0]?.v ?? null;

const secondsAtOrAbove = (file: string, stage: string, signal = 'coolant_temp_c') =>
  one(
    `SELECT sum(seconds) AS v FROM dwell WHERE upload_id = $upload AND signal = '${signal}' AND low >= ${stage}`,
    file,
  );

describe('dwell in the lake gives the published logs their seconds', () => {
  const cases: [file: string, stage: string, seconds: number | null][] = [
    [KIT, '90', 3036.607],
    [KIT, '95', 191.72],
    [KIT, '100', 58.134],
    ['logs/kit-obd/2017-08-01_Seat_Leon_KA_KA_Frei.csv', '90', 439.468],
    ['logs/kit-obd/2017-07-14_Seat_Leon_KA_KA_Frei.csv', '90', null],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz.csv', '80', 409],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz.csv', '82', 126],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz_de.csv', '80', 409],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz_de.csv', '82', 126],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz_us.csv', '80', 409],
    ['logs/truck-j1939/2022-03-29_drive-600s_1hz_us.csv', '82', 126],
    ['can/truck/2022-03-29_drive-600s.can1.log.gz', '80', 411.464],
    ['can/truck/2022-03-29_drive-600s.can1.log.gz', '82', 125.379],
  ];
  for (const [file, stage, expected] of cases)
    it(`${file.split('/').pop()} at or above ${stage} °C: ${expected ?? 'no'} s`, async () => {
      const seconds = await secondsAtOrAbove(file, stage);
      if (expected === null) expect(seconds).toBeNull();
      else expect(seconds).toBeCloseTo(expected, 2);
    });

  it('a log without coolant has no coolant dwell at all, not zero seconds', async () => {
    expect(
      await one(
        "SELECT count(*) AS v FROM dwell WHERE upload_id = $upload AND signal = 'coolant_temp_c'",
        'logs/car-csv-no-coolant/data_log.csv',
      ),
    ).toBe(0);
    expect(
      await one(
        'SELECT count(coolant_temp_c) AS v FROM samples WHERE upload_id = $upload',
        'logs/car-csv-no-coolant/data_log.csv',
      ),
    ).toBe(0);
    expect(
      await one('SELECT count(*) AS v FROM samples WHERE upload_id = $upload', 'logs/car-csv-no-coolant/data_log.csv'),
    ).toBe(1041);
  });
});

describe('samples in the lake are the rows of the file', () => {
  it('rows, lowest and highest, instants', async () => {
    const row = z.object({ n: z.number(), low: z.number(), high: z.number(), first: z.number(), last: z.number() });
    const [kit] = await lake.query(
      `SELECT count(*) AS n, min(coolant_temp_c) AS low, max(coolant_temp_c) AS high,
              epoch_ms(min(time)) AS first, epoch_ms(max(time)) AS last FROM samples WHERE upload_id = $upload`,
      row,
      { upload: ids.get(KIT)! },
    );
    // Date from the file's name, clock from the rows, zone from the sender: 18:49:53.184 in Berlin's summer is 16:49:53.184 UTC.
    expect(kit).toEqual({
      n: 21_618,
      low: 25,
      high: 101,
      first: Date.parse('2017-07-26T16:49:53.184Z'),
      last: Date.parse('2017-07-26T17:47:14.005Z'),
    });
    const [truck] = await lake.query(
      `SELECT count(*) AS n, min(engine_speed_rpm) AS low, max(engine_speed_rpm) AS high,
              epoch_ms(min(time)) AS first, epoch_ms(max(time)) AS last
       FROM samples WHERE upload_id = $upload AND engine_speed_rpm IS NOT NULL`,
      row,
      { upload: ids.get('can/truck/2022-03-29_drive-600s.can1.log.gz')! },
    );
    expect(truck).toMatchObject({ n: 29_437, low: 875.875, high: 2047.5 });
  });

  it('the file comes back byte for byte', async () => {
    const raw = await fetch(`${service.url}/v1/uploads/${ids.get(KIT)}/raw`);
    expect(Buffer.from(await raw.arrayBuffer()).equals(readFileSync(join(fixtures, KIT)))).toBe(true);
  });
});

describe('the same bytes again', () => {
  it('answer 200 with the first id, packed or not, whatever is said about them', async () => {
    const bytes = readFileSync(join(fixtures, KIT));
    for (const body of [bytes, gzipSync(bytes)])
      expect(await send(KIT, 'vehicle=CAR', body)).toMatchObject({ id: ids.get(KIT), duplicate: true, vehicle: 'KIT' });
    const capture = 'can/truck/2022-03-29_drive-600s.can1.log.gz';
    const unpacked = gunzipSync(readFileSync(join(fixtures, capture)));
    expect(await send(capture, 'vehicle=TRUCK-RAW', unpacked)).toMatchObject({ id: ids.get(capture), duplicate: true });
  });

  it('decoded again for another vehicle, they move there and are not counted twice', async () => {
    const file = 'logs/kit-obd/2018-02-26_Seat_Leon_RT_KA_Normal.first4000rows.csv';
    const id = ids.get(file)!;
    await fetch(`${service.url}/v1/uploads/${id}/decode-again`, { method: 'POST', body: '{"vehicle":"CAR"}' });
    expect(await service.untilDone(id)).toMatchObject({ state: 'stored', vehicle: 'CAR' });
    const row = z.object({ vehicle_id: z.string(), n: z.number() });
    expect(
      await lake.query('SELECT vehicle_id, count(*) AS n FROM samples WHERE upload_id = $upload GROUP BY ALL', row, {
        upload: id,
      }),
    ).toEqual([{ vehicle_id: 'CAR', n: 4000 }]);
  });
});
