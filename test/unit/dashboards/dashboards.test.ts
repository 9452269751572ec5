import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { DASHBOARDS } from '../../dashboards/dashboards.js';

const folder = fileURLToPath(new URL('../../../dashboards', import.meta.url));
const textOf = (dashboard: object) => `${JSON.stringify(dashboard, null, 2)}\n`;

const targetSchema = z.object({
  refId: z.string(),
  datasource: z.object({ type: z.string(), uid: z.string().startsWith('$') }),
});
const panelSchema = z.object({
  id: z.number().int(),
  type: z.string(),
  title: z.string().min(1),
  description: z.string().min(1),
  gridPos: z.object({ x: z.number().min(0), y: z.number().min(0), w: z.number().positive(), h: z.number().positive() }),
  targets: z.array(targetSchema).min(1),
});
const fileSchema = z.object({ uid: z.string(), title: z.string(), panels: z.array(panelSchema).min(1) });

// Their types are checked against @grafana/schema where they are written (test/dashboards).
describe('dashboards', () => {
  if (process.env.UPDATE_DASHBOARDS)
    for (const [name, dashboard] of Object.entries(DASHBOARDS)) writeFileSync(join(folder, name), textOf(dashboard));

  it('are committed as they are written in test/dashboards', () => {
    expect(
      readdirSync(folder)
        .filter((name) => name.endsWith('.json'))
        .sort(),
    ).toEqual(Object.keys(DASHBOARDS).sort());
    for (const [name, dashboard] of Object.entries(DASHBOARDS))
      expect(JSON.parse(readFileSync(join(folder, name), 'utf8')), name).toEqual(JSON.parse(textOf(dashboard)));
  });

  it('have panels with a title, a description, a place of their own and a data source by variable', () => {
    const seen = new Set<string>();
    for (const name of Object.keys(DASHBOARDS)) {
      const { uid, panels } = fileSchema.parse(JSON.parse(readFileSync(join(folder, name), 'utf8')));
      expect(seen.has(uid)).toBe(false);
      seen.add(uid);
      expect(new Set(panels.map(({ id }) => id)).size).toBe(panels.length);
      for (const [index, { gridPos: a, title }] of panels.entries()) {
        expect(a.x + a.w, title).toBeLessThanOrEqual(24);
        for (const { gridPos: b } of panels.slice(index + 1))
          expect(a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h, title).toBe(false);
      }
    }
  });
});
