import { asideHeader, asideId, type Recording } from '@tallybay/contracts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type LinkedView,
  linkOfView,
  viewFromLink,
} from '../../../../../../apps/web/src/pages/recording/address-view.js';

const iso = (minute: number) => new Date(Date.UTC(2026, 8, 7, 14, minute)).toISOString();
const ms = (minute: number) => Date.parse(iso(minute));
const figures = (signal: string) => ({ signal }) as Recording['signals'][number];
const recording = {
  signals: ['coolant_temp_c', 'engine_load_pct', 'vehicle_speed_kmh'].map(figures),
  suggested: ['coolant_temp_c', 'engine_load_pct'],
  drives: [{ id: 'u-d1', from: iso(10), to: iso(30), distanceKm: 4 }],
} as unknown as Recording;
const WHOLE = { fromMs: ms(0), toMs: ms(60) };

const view: LinkedView = {
  view: { fromMs: ms(5), toMs: ms(20) },
  cursorMs: ms(7),
  shown: ['vehicle_speed_kmh', 'coolant_temp_c'],
  units: { coolant_temp_c: 'degF' },
  chosen: { fromMs: ms(6), toMs: ms(8) },
  repeat: true,
  fit: true,
};
const paramsOf = (link: Record<string, string | null>) =>
  new URLSearchParams(Object.entries(link).filter((pair): pair is [string, string] => pair[1] !== null));

describe('a link to a view', () => {
  it('carries span, cursor, signals, units and chosen span, and gives the same view back', () => {
    const link = paramsOf(linkOfView(view, recording, WHOLE));
    expect(viewFromLink(new URLSearchParams(link.toString()), recording, WHOLE)).toEqual(view);
  });

  it('carries a channel beyond the catalogue, whatever its header holds', () => {
    const id = asideId('Pump, stage ~2 & 50% = a+b # "ü" [V]');
    const wider = { ...recording, signals: [...recording.signals, figures(id)] };
    const seen = { ...view, shown: [id, 'coolant_temp_c'], units: { [id]: 'V' } };
    const link = paramsOf(linkOfView(seen, wider, WHOLE)).toString();
    expect(viewFromLink(new URLSearchParams(link), wider, WHOLE)).toEqual(seen);
    expect(viewFromLink(new URLSearchParams(link), recording, WHOLE).shown).toEqual(['coolant_temp_c']);
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), (header) => {
        expect(asideHeader(asideId(header))).toBe(header);
        expect(asideId(header)).not.toMatch(/[,~]/);
      }),
    );
  });

  it('is bare for the whole recording with its usual signals', () => {
    const plain = viewFromLink(new URLSearchParams(), recording, WHOLE);
    expect(plain).toMatchObject({ view: WHOLE, cursorMs: ms(0), shown: recording.suggested, chosen: null });
    expect(paramsOf(linkOfView(plain, recording, WHOLE)).toString()).toBe('');
  });

  it('shows one drive where it names one, and keeps to the recording', () => {
    const drive = viewFromLink(new URLSearchParams({ drive: 'u-d1' }), recording, WHOLE);
    expect(drive).toMatchObject({ view: { fromMs: ms(10), toMs: ms(30) }, cursorMs: ms(10) });
    const beyond = viewFromLink(new URLSearchParams({ from: iso(50), to: iso(90), at: iso(95) }), recording, WHOLE);
    expect(beyond).toMatchObject({ view: { fromMs: ms(50), toMs: ms(60) }, cursorMs: ms(50) });
  });

  it('takes what it cannot read as not said', () => {
    const odd = new URLSearchParams({ from: 'soon', signals: 'warp_factor', span: 'x~y', repeat: '1' });
    expect(viewFromLink(odd, recording, WHOLE)).toMatchObject({
      view: WHOLE,
      shown: recording.suggested,
      repeat: false,
    });
  });

  it('tells no lane from none chosen', () => {
    const link = paramsOf(linkOfView({ ...view, shown: [] }, recording, WHOLE));
    expect(viewFromLink(link, recording, WHOLE).shown).toEqual([]);
  });
});
