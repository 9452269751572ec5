/** One comparison: `got` is computed by the project, `expected` stands in the vector file. */
export interface Check {
  name: string;
  expected: unknown;
  got: unknown;
  /** Relative; absent = the rounding of the printed vectors. */
  tolerance?: number;
}

// biome-ignore lint/suspicious/noExplicitAny: vectors are JSON of many kinds, each adapter reads the fields of its own
export type Vector = any;

/** Turns one vector of a topic into comparisons. A vector it does not understand must throw, never be skipped. */
export type Adapter = (vector: Vector, context: VectorContext) => Check[];

export interface VectorContext {
  /** Year in which the vectors were made: "next year" in the model-year rule is counted from it. */
  year: number;
}

/** Vectors print nine decimals; that much of a value may differ. */
const ROUNDING = 2e-9;

export function agrees({ expected, got, tolerance }: Check): boolean {
  return same(expected, got, tolerance ?? ROUNDING);
}

function same(expected: unknown, got: unknown, tolerance: number): boolean {
  if (typeof expected === 'number' && typeof got === 'number') {
    return Math.abs(expected - got) <= tolerance * Math.max(1, Math.abs(expected));
  }
  if (Array.isArray(expected) && Array.isArray(got)) {
    return expected.length === got.length && expected.every((item, index) => same(item, got[index], tolerance));
  }
  if (isRecord(expected) && isRecord(got)) {
    const keys = Object.keys(expected);
    return keys.length === Object.keys(got).length && keys.every((key) => same(expected[key], got[key], tolerance));
  }
  return Object.is(expected, got);
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** The keys of `expected` picked from `got`, so that a reading with more to say can still agree. */
export function picked(expected: Record<string, unknown>, got: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.keys(expected).map((key) => [key, got[key]]));
}

export function unknownKind(topic: string, vector: Vector): never {
  throw new Error(`no check for ${topic} vectors of this kind: ${JSON.stringify(vector).slice(0, 200)}`);
}
