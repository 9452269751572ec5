import { describe, expect, it } from 'vitest';
import { requestIdOf } from '../../../../../apps/api/src/http/request-id.js';
import { expectedVersion } from '../../../../../apps/api/src/http/version-headers.js';

describe('conditional headers (RFC 9110, sections 13.1.1 and 13.1.2)', () => {
  it('say against which version an edit was made', () => {
    expect(expectedVersion({})).toEqual({});
    expect(expectedVersion({ 'if-match': '"12"' })).toEqual({ expectedVersion: 12 });
    expect(expectedVersion({ 'if-match': '*' })).toEqual({});
    expect(expectedVersion({ 'if-none-match': '*' })).toEqual({ expectedVersion: 0 });
  });

  it.each(['12', '"0"', '"x"', 'W/"1"', '"99999999999"'])('that are no version of ours are refused: %s', (value) => {
    expect(() => expectedVersion({ 'if-match': value })).toThrow(/is not a version/);
  });
});

describe('the request id', () => {
  it('is the caller’s where it is short and plain, else a new one', () => {
    const of = (id?: string) => requestIdOf({ headers: id === undefined ? {} : { 'x-request-id': id } });
    expect(of('depot-7.42')).toBe('depot-7.42');
    for (const bad of [undefined, '', 'a b', 'x'.repeat(65), 'line\nbreak']) expect(of(bad)).toMatch(/^[0-9a-f-]{36}$/);
  });
});
