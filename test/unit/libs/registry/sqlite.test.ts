import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { openRegistry, type Registry, type RegistryConfig } from '@tallybay/registry';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { describeRegistry } from './suites.js';

const directory = mkdtempSync(join(tmpdir(), 'tallybay-registry-'));
afterAll(() => rmSync(directory, { recursive: true, force: true }));

const opened: Registry[] = [];
afterEach(async () => {
  for (const registry of opened.splice(0)) await registry.close();
});

let counter = 0;
const currentFile = () => join(directory, `${counter}`, 'registry.sqlite');
const config = (): RegistryConfig => ({ kind: 'sqlite', file: currentFile() });
async function open(nowMs?: () => number): Promise<Registry> {
  counter++;
  const registry = await openRegistry({ ...config(), nowMs });
  opened.push(registry);
  return registry;
}

describe('on SQLite', () => {
  describeRegistry({ open, config });

  it('keeps what was written when it is opened again', async () => {
    const registry = await open();
    await registry.settings.put('stages', [1]);
    const again = await openRegistry(config());
    expect((await again.settings.get('stages'))?.document).toEqual([1]);
    await again.close();
  });

  it('syncs every commit and lets readers go on while somebody writes', async () => {
    const registry = await open();
    const other = new DatabaseSync(currentFile());
    expect(other.prepare('pragma journal_mode').get()).toMatchObject({ journal_mode: 'wal' });
    other.exec('begin immediate');
    await expect(registry.settings.list()).resolves.toEqual([]);
    other.exec('rollback');
    other.close();
  });

  it('refuses a registry of a newer program', async () => {
    await open();
    const other = new DatabaseSync(currentFile());
    other.exec("insert into registry_migrations values ('9999-future', 0)");
    other.close();
    await expect(openRegistry(config())).rejects.toMatchObject({ code: 'registry_newer' });
  });

  it('says why a file cannot be used', async () => {
    const text = join(directory, 'not-a-database');
    writeFileSync(text, 'this is not a database file, but it is longer than one page header would be'.repeat(20));
    await expect(openRegistry({ kind: 'sqlite', file: text })).rejects.toMatchObject({ code: 'registry_unavailable' });
    await expect(openRegistry({ kind: 'sqlite', file: text })).rejects.toThrow(/not a database/);
    const folder = join(directory, 'a-folder');
    mkdirSync(folder);
    chmodSync(folder, 0o500);
    await expect(openRegistry({ kind: 'sqlite', file: folder })).rejects.toMatchObject({
      code: 'registry_unavailable',
    });
  });
});
