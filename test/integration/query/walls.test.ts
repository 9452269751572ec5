import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { fingerprint } from './fingerprint.js';
import { hostileInputs, hostileStatements } from './hostile.js';
import { queryService } from './query-service.js';

const service = queryService();

describe('walls', () => {
  it('refuses or contains every hostile statement, harms nothing, and answers others meanwhile', {
    timeout: 300_000,
  }, async () => {
    const outside = join(service.api.runtime.config.home, 'outside.csv');
    writeFileSync(outside, 'classified-7431\n1\n');
    mkdirSync(join(service.lake, 'rankings'), { recursive: true });
    writeFileSync(join(service.lake, 'rankings', 'x.json'), '[]');
    // The first question of all writes the registry's tables for analysts; after it nothing may change.
    await service.rowsOf('SELECT 1');
    const before = fingerprint(service.lake);
    const statements = hostileStatements(service.lake, outside);
    expect(statements.length).toBeGreaterThanOrEqual(60);
    let open = true;
    const answered: number[] = [];
    const others = (async () => {
      while (open) {
        const startedMs = performance.now();
        expect(
          await service.rowsOf(
            "SELECT count(*) FROM samples WHERE vehicle_id = 'KV-101'",
            {},
            { 'x-tallybay-person': 'patient' },
          ),
        ).toEqual([[1200]]);
        answered.push(performance.now() - startedMs);
      }
    })();
    for (const { what, sql, expect: wanted } of statements) {
      const response = await service.post({ sql }, { 'x-tallybay-person': 'hasty' });
      const text = await response.text();
      expect(text, what).not.toContain('classified-7431');
      if (wanted === 'refused') {
        const { code } = JSON.parse(text);
        expect([what, code]).toEqual([what, expect.stringMatching(/^(query_refused|query_invalid|body_invalid)$/)]);
      } else if (response.status !== 200)
        expect([what, JSON.parse(text).code]).toEqual([what, expect.stringMatching(/^query_(limit|invalid)$/)]);
    }
    open = false;
    await others;
    expect(answered.length).toBeGreaterThan(10);
    expect(fingerprint(service.lake)).toEqual(before);
  });

  it('refuses inputs that are no questions', async () => {
    for (const { what, body, headers, status } of hostileInputs)
      expect([what, (await service.post(body, headers)).status]).toEqual([what, status]);
  });
});
