import {
  logParametersSchema,
  parseContract,
  parseParameters,
  problemFromUnknown,
  problemSchema,
  TallybayError,
  vehicleSchema,
} from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';

describe('a value from outside', () => {
  it('is parsed, or refused with field, value and expectation', () => {
    const vehicle = { id: 'KV-1', vehicleClass: 'van', depot: 'north' };
    expect(parseContract(vehicleSchema, vehicle, 'body_invalid')).toEqual(vehicle);
    const bad = () => parseContract(vehicleSchema, { ...vehicle, modelYear: 'new', fuel: 'coal' }, 'body_invalid');
    expect(bad).toThrow(/^modelYear: .*number.*, got "new" \(and 1 more\)$/);
    try {
      bad();
    } catch (error) {
      expect(error).toMatchObject({ code: 'body_invalid', options: { place: { field: 'modelYear' } } });
      const { fields } = problemSchema.parse((error as TallybayError).toDocument());
      expect(fields?.map(({ field }) => field)).toEqual(['modelYear', 'fuel']);
    }
  });

  it('is not repeated at length, and may be missing or no object at all', () => {
    expect(() => parseContract(vehicleSchema, { id: 'x'.repeat(10_000) }, 'body_invalid')).toThrow(/^.{1,200}$/);
    expect(() => parseContract(vehicleSchema, undefined, 'body_invalid')).toThrow(/The whole: .*got nothing/);
    expect(() => parseContract(vehicleSchema, 7, 'parameter_invalid')).toThrow(/got 7/);
  });
});

describe('a query string', () => {
  it('is parsed, or refused with the name that nobody reads and those that there are', () => {
    expect(parseParameters(logParametersSchema, { vehicle: 'KV-1' })).toEqual({ vehicle: 'KV-1' });
    expect(parseParameters(logParametersSchema, {})).toEqual({});
    const slip = () => parseParameters(logParametersSchema, { vehicle: 'KV-1', timezone: 'UTC' });
    expect(slip).toThrow(
      'There is no parameter "timezone" here; there are: vehicle, recorder, recordedAt, timeZone, fileName',
    );
    expect(() => parseParameters(logParametersSchema, { toString: '1' })).toThrow(/no parameter "toString"/);
    expect(() => parseParameters(logParametersSchema, { vehicle: '' })).toThrow(/^vehicle: /);
  });
});

describe('whatever is thrown', () => {
  it.each([
    [new TallybayError('job_running', 'runs'), 'job_running', 409],
    [Object.assign(new Error('no such route'), { statusCode: 404 }), 'route_unknown', 404],
    [Object.assign(new Error('x'), { getStatus: () => 404 }), 'route_unknown', 404],
    [Object.assign(new Error('x'), { statusCode: 400 }), 'body_invalid', 422],
    [Object.assign(new Error('x'), { statusCode: 413 }), 'body_too_large', 413],
    [Object.assign(new Error('x'), { statusCode: 415 }), 'media_type_unsupported', 415],
    [Object.assign(new Error('x'), { statusCode: 405 }), 'parameter_invalid', 400],
    [Object.assign(new Error('x'), { statusCode: 500 }), 'internal', 500],
    [new Error('secret detail'), 'internal', 500],
    ['a string', 'internal', 500],
    [null, 'internal', 500],
  ])('%s becomes %s', (thrown, code, status) => {
    const { document, error, unexpected } = problemFromUnknown(thrown, '/v1/x');
    expect(problemSchema.parse(document)).toMatchObject({ code, status, instance: '/v1/x' });
    expect(unexpected).toBe(code === 'internal');
    expect(JSON.stringify(document)).not.toContain('secret');
    expect(error.code).toBe(code);
  });
});
