import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { UploadReceipt } from '@tallybay/contracts';
import { Lake } from '@tallybay/lake';
import { openRegistry } from '@tallybay/registry';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { z } from 'zod';
import { IngestService } from '../../service/ingest-service.js';

const home = mkdtempSync(join(tmpdir(), 'tallybay-speed-'));
let service: IngestService;
beforeAll(async () => {
  service = await IngestService.start(home, ['KV-101']);
  const registry = await openRegistry({ kind: 'sqlite', file: join(home, 'registry.sqlite') });
  const vehicle = (await registry.vehicles.get('KV-101'))!;
  const change = { tyreSetFor: '245/75R16', tyreFitted: '285/75R16' };
  await registry.vehicles.upsert({ ...vehicle, speedCorrections: [{ from: '2026-10-05T00:00:00Z', ...change }] });
  await expect(
    registry.vehicles.upsert({
      ...vehicle,
      speedCorrections: [{ from: '2026-10-05T00:00:00Z', tyreSetFor: 'big', tyreFitted: 'bigger' }],
    }),
  ).rejects.toMatchObject({ code: 'body_invalid' });
  await registry.close();
});
afterAll(async () => {
  await service.stop();
  rmSync(home, { recursive: true });
});

async function speedOf(day: string): Promise<{ kmh: number; decisions: string[] }> {
  const rows = Array.from({ length: 20 }, (_, i) => `${day}T12:00:${String(i).padStart(2, '0')}Z,60,1500`).join('\n');
  const log = `Time,Vehicle Speed (mph),Engine RPM\n${rows}\n`;
  const response = await fetch(`${service.url}/v1/logs?vehicle=KV-101`, { method: 'POST', body: log });
  const { id } = (await response.json()) as UploadReceipt;
  const upload = await service.untilDone(id);
  const lake = await Lake.open(service.lake);
  const [row] = await lake.query(
    'SELECT max(vehicle_speed_kmh) AS kmh FROM samples WHERE upload_id = $id',
    z.object({ kmh: z.number() }),
    { id },
  );
  lake.close();
  const raw = await (await fetch(`${service.url}/v1/uploads/${id}/raw`)).text();
  expect(raw).toBe(log);
  return {
    kmh: row!.kmh,
    decisions: upload.decisions.filter((one) => one.what === 'vehicle speed').map((one) => one.why),
  };
}

// 60 indicated on 245/75R16 is 64.65 on 285/75R16: ratio of the diameters 833.9 / 773.9 mm (metric size formula,
// width and aspect ratio as marked on the tyre).
it('corrects recorded speed from the day the tyres changed, and keeps the log as it came', async () => {
  const before = await speedOf('2026-10-04');
  expect(before.kmh).toBeCloseTo(60 * 1.609344, 3);
  expect(before.decisions).toEqual([]);
  const after = await speedOf('2026-10-06');
  expect(after.kmh).toBeCloseTo(64.651763794 * 1.609344, 3);
  expect(after.decisions).toEqual([expect.stringContaining('245/75R16 to 285/75R16')]);
});
