import { describe, expect, it } from 'vitest';
import type { RegistrySource } from './suites.js';

export function describeNotes({ open }: RegistrySource): void {
  describe('a note', () => {
    const about = (vehicle: string, text: string) => ({ vehicle, upload: null, atMs: null, text, by: 'lee' });
    const marker = (upload: string, atMs: number, text: string) => ({
      vehicle: 'KV-101',
      upload,
      atMs,
      text,
      by: 'lee',
    });

    it('about a vehicle is listed newest first, apart from those in recordings and of other vehicles', async () => {
      let nowMs = Date.parse('2026-10-05T08:00:00Z');
      const { notes } = await open(() => nowMs);
      const first = await notes.add(about('KV-101', 'fan clutch slips; "fühlt sich weich an" 🔧'));
      nowMs += 60_000;
      const second = await notes.add(about('KV-101', 'seen again'));
      await notes.add(about('KV-102', 'other'));
      await notes.add(marker('u1', nowMs, 'in the recording'));
      expect(await notes.ofVehicle('KV-101')).toEqual([second, first]);
      expect(first).toMatchObject({ by: 'lee', at: null, writtenAt: '2026-10-05T08:00:00.000Z' });
    });

    it('in a recording is listed in the order of its instants', async () => {
      const { notes } = await open();
      const atMs = Date.parse('2026-10-05T08:00:00.250Z');
      const late = await notes.add(marker('u1', atMs + 10, 'late'));
      const early = await notes.add(marker('u1', atMs, 'early'));
      await notes.add(marker('u2', atMs, 'another'));
      expect(await notes.inRecording('u1')).toEqual([early, late]);
      expect(early.at).toBe('2026-10-05T08:00:00.250Z');
    });

    it('is taken away once, from where it is', async () => {
      const { notes } = await open();
      const note = await notes.add(marker('u1', 5, 'x'));
      expect(await notes.remove(note.id, { vehicle: 'KV-101', upload: null }, 'kim')).toBe(false);
      expect(await notes.remove(note.id, { vehicle: 'KV-102', upload: 'u1' }, 'kim')).toBe(false);
      expect(await notes.remove(note.id, { vehicle: 'KV-101', upload: 'u1' }, 'kim')).toBe(true);
      expect(await notes.remove(note.id, { vehicle: 'KV-101', upload: 'u1' }, 'kim')).toBe(false);
      expect(await notes.inRecording('u1')).toEqual([]);
      const general = await notes.add(about('KV-101', 'y'));
      expect(await notes.remove(general.id, { vehicle: 'KV-101', upload: null }, 'kim')).toBe(true);
    });
  });
}
