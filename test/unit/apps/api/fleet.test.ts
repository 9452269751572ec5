import { describe, expect, it } from 'vitest';
import { SETTINGS } from '../../../../apps/api/src/settings/setting-table.js';
import { fleet } from '../../libs/registry/fleet.suite.js';
import { startApi } from './test-api.js';

describe('the fleet over HTTP', () => {
  it('is registered, read, edited and removed', async () => {
    const { call } = await startApi();
    const imported = await call('POST', '/v1/fleet', fleet);
    expect(imported).toMatchObject({ status: 200, body: { vehicles: { added: 2 }, profiles: { added: 1 } } });
    const whole = await call('GET', '/v1/fleet');
    expect(whole.body.vehicles).toHaveLength(2);
    expect(whole.body.assignments).toHaveLength(2);

    const vehicle = { id: 'KV-103', vehicleClass: 'van', depot: 'north', route: 'Hill pumps round' };
    const put = await call('PUT', '/v1/vehicles/KV-103', vehicle, { 'if-none-match': '*' });
    expect(put).toMatchObject({ status: 200, headers: { etag: '"1"' }, body: { ...vehicle, version: 1 } });
    expect(await call('GET', '/v1/vehicles/KV-103')).toMatchObject({ headers: { etag: '"1"' }, body: vehicle });
    expect((await call('GET', '/v1/vehicles?depot=north')).body.vehicles).toHaveLength(2);
    const found = (await call('GET', '/v1/vehicles?route=Hill%20pumps%20round')).body.vehicles;
    expect(found).toMatchObject([vehicle]);
    expect((await call('PUT', '/v1/vehicles/KV-103', { ...vehicle, route: ' ' })).body).toMatchObject({
      code: 'body_invalid',
      field: 'route',
    });
    expect((await call('DELETE', '/v1/vehicles/KV-103')).status).toBe(204);
    expect(await call('DELETE', '/v1/vehicles/KV-103')).toMatchObject({
      status: 404,
      body: { code: 'vehicle_not_found' },
    });
  });

  it('refuses an edit of an older version', async () => {
    const { call } = await startApi();
    await call('POST', '/v1/fleet', fleet);
    const depot = { id: 'north', name: 'North', timeZone: 'UTC' };
    expect((await call('PUT', '/v1/depots/north', depot, { 'if-match': '"1"' })).headers.etag).toBe('"2"');
    const late = await call('PUT', '/v1/depots/north', depot, { 'if-match': '"1"' });
    expect(late).toMatchObject({ status: 409, body: { code: 'edit_conflict' } });
    expect(await call('PUT', '/v1/depots/south', depot)).toMatchObject({ status: 422, body: { field: 'id' } });
    expect(await call('DELETE', '/v1/depots/north')).toMatchObject({ status: 409, body: { code: 'record_in_use' } });
  });

  it('assigns recorders and takes assignments back', async () => {
    const { call } = await startApi();
    await call('POST', '/v1/fleet', fleet);
    const assigned = await call('POST', '/v1/recorders/R-9/assignments', {
      vehicle: 'KV-101',
      from: '2026-05-01T00:00:00-06:00',
    });
    expect(assigned).toMatchObject({ status: 201, body: { recorder: 'R-9', from: '2026-05-01T06:00:00.000Z' } });
    expect((await call('GET', '/v1/recorders/R-9/assignments')).body.assignments).toHaveLength(1);
    expect((await call('GET', '/v1/recorders?vehicle=KV-101')).body.assignments).toHaveLength(2);
    const path = `/v1/recorders/R-9/assignments/${encodeURIComponent('2026-05-01T06:00:00Z')}`;
    expect((await call('DELETE', path)).status).toBe(204);
    expect(await call('DELETE', path)).toMatchObject({ status: 404, body: { code: 'record_unknown' } });
    const unknown = await call('POST', '/v1/recorders/R-9/assignments', { vehicle: 'X', from: '2026-05-01T00:00:00Z' });
    expect(unknown).toMatchObject({ status: 404, body: { code: 'vehicle_not_found' } });
  });

  it('keeps one profile a recorder', async () => {
    const { call } = await startApi();
    await call('POST', '/v1/fleet', fleet);
    const profile = { id: 'P-7', recorder: 'R-7', decimal: ',' };
    expect((await call('PUT', '/v1/profiles/P-7', profile, { 'if-match': '"1"' })).body).toEqual({
      ...profile,
      version: 2,
    });
    expect(await call('PUT', '/v1/profiles/P-8', { ...profile, id: 'P-8' })).toMatchObject({
      status: 422,
      body: { field: 'recorder' },
    });
    expect((await call('GET', '/v1/profiles')).body.profiles).toHaveLength(1);
    expect((await call('DELETE', '/v1/profiles/P-7')).status).toBe(204);
    expect((await call('GET', '/v1/profiles/P-7')).status).toBe(404);
  });
});

describe('settings over HTTP', () => {
  it('show the default until somebody edits them, and keep who did', async () => {
    const { call, runtime } = await startApi();
    const standard = await call('GET', '/v1/settings/ranking-weights');
    expect(standard.body).toMatchObject({ version: 0, updatedBy: null });
    const before = await runtime.settings.rules();
    const weights = { heat: 1, codes: 0.5, readiness: 0 };
    const put = await call('PUT', '/v1/settings/ranking-weights', weights, {
      'x-tallybay-editor': 'dana',
      'if-none-match': '*',
    });
    expect(put).toMatchObject({ status: 200, body: { version: 1, updatedBy: 'dana', document: weights } });
    const rules = await runtime.settings.rules();
    expect(rules).toMatchObject({ name: 'edited', weights });
    expect(rules.stages).toEqual(before.stages);
    expect((await call('GET', '/v1/settings/ranking-weights/history')).body.settings).toHaveLength(1);
    const names = (await call('GET', '/v1/settings')).body.settings.map((row: { name: string }) => row.name);
    expect(names.sort()).toEqual(Object.keys(SETTINGS).sort());
  });

  it('refuse what no ranking could use', async () => {
    const { call } = await startApi();
    const bad = await call('PUT', '/v1/settings/ranking-weights', { heat: 2, codes: 0, readiness: 0 });
    expect(bad).toMatchObject({ status: 422, body: { code: 'body_invalid', field: 'heat' } });
    expect(await call('GET', '/v1/settings/colours')).toMatchObject({ status: 404, body: { code: 'record_unknown' } });
    const stages = [{ signal: 'odometer_km', vehicleClass: '*', stage: 'alarm', valueC: 1, written: '1', source: 'x' }];
    expect(await call('PUT', '/v1/settings/heat-stages', stages)).toMatchObject({
      status: 422,
      body: { field: '0.signal' },
    });
  });
});
