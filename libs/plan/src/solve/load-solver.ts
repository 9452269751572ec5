import type { Highs } from 'highs';
import loader from 'highs';

/** HiGHS, compiled to WebAssembly. Loading takes some tens of ms; each solve holds up its thread until it is done. */
export const loadSolver = loader as unknown as () => Promise<Highs>;
