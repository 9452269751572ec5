import { builtinModules } from 'node:module';
import { posix } from 'node:path';
import { ONE_HOME, PACKAGES, PURE_THIRD_PARTY } from './rules.js';
import { type ImportFact, readFacts, type SourceFacts, type SourceText } from './source.js';

export interface DeclaredModules {
  dependencies: readonly string[];
  devDependencies: readonly string[];
}

/**
 * Every breach of the import rules in these sources, one sentence each with the file and line; empty when all is well.
 * @param sources TypeScript files under the packages' `src` folders and under `test`
 * @param declared what the root package.json lists
 */
export function findViolations(sources: readonly SourceText[], declared: DeclaredModules): string[] {
  const facts = sources.map(readFacts);
  return [...facts.flatMap((file) => checkFile(file, declared)), ...findCycles(facts)];
}

function checkFile(file: SourceFacts, declared: DeclaredModules): string[] {
  const owner = packageOf(file.path);
  const isTest = file.path.startsWith('test/');
  if (!owner && !isTest && !isRootFile(file.path)) return [`${file.path}: belongs to no package of the table`];
  const found = file.imports.flatMap((fact) => {
    const problem = isRelative(fact.specifier)
      ? checkRelative(file.path, owner, fact)
      : checkBare({ path: file.path, owner, fact, declared });
    return problem ? [`${file.path}:${fact.line}: ${problem}`] : [];
  });
  if (owner && PACKAGES[owner]?.pure)
    for (const { what, line } of file.impurities) found.push(`${file.path}:${line}: ${owner} is pure but uses ${what}`);
  return found;
}

function checkRelative(path: string, owner: string | null, fact: ImportFact): string | null {
  const target = posix.join(posix.dirname(path), fact.specifier);
  const home = packageOf(target);
  if (!owner) {
    // Tests reach into an app's files (an app exports nothing), but take a lib only through its index.
    const isLib = home !== null && !home.startsWith('@tallybay/app-');
    return isLib ? `reaches into ${home} by a path; import ${home}` : null;
  }
  if (target.startsWith('test/')) return 'imports from test';
  return home === owner ? null : `reaches out of ${owner} by a path (${fact.specifier})`;
}

function checkBare(at: {
  path: string;
  owner: string | null;
  fact: ImportFact;
  declared: DeclaredModules;
}): string | null {
  const { owner, fact } = at;
  const { specifier } = fact;
  if (specifier.startsWith('@tallybay/')) return checkProjectImport(owner, specifier);
  const rule = owner ? PACKAGES[owner] : undefined;
  const name = moduleName(specifier);
  const home = ONE_HOME.find((row) => row.module.test(name));
  if (owner && home && home.home !== owner) return `only ${home.home} may import ${name}`;
  if (isBuiltin(specifier)) {
    if (rule?.pure) return `${owner} is pure but imports ${specifier}`;
    return specifier.startsWith('node:') ? null : `write node:${specifier}`;
  }
  if (rule?.pure && !PURE_THIRD_PARTY.includes(name)) return `${owner} is pure but imports ${name}`;
  return checkDeclared(at, name);
}

function checkProjectImport(owner: string | null, specifier: string): string | null {
  const name = specifier.split('/').slice(0, 2).join('/');
  if (!PACKAGES[name]) return `imports ${specifier}, which is no package of the table`;
  if (specifier !== name) return `imports ${specifier}; only the index of ${name} is public`;
  if (owner === null) return null;
  if (owner === name) return `imports its own package by name`;
  return PACKAGES[owner]?.mayImport.includes(name) ? null : `${owner} may not import ${name}`;
}

function checkDeclared(at: { path: string; fact: ImportFact; declared: DeclaredModules }, name: string): string | null {
  const { dependencies, devDependencies } = at.declared;
  if (dependencies.includes(name)) return null;
  if (!devDependencies.includes(name)) {
    // Types of an untyped package count as the package's declaration.
    if (at.fact.typeOnly && devDependencies.includes(`@types/${name}`)) return null;
    return `imports ${name}, which the root package.json does not declare`;
  }
  const needsAtRunTime = !at.path.startsWith('test/') && !isRootFile(at.path) && !at.fact.typeOnly;
  return needsAtRunTime ? `imports ${name}, which is only a devDependency` : null;
}

/** Cycles among files (imports that exist at run time), each reported once. */
function findCycles(facts: readonly SourceFacts[]): string[] {
  const graph = new Map(facts.map((file) => [file.path, relativeTargets(file)]));
  const state = new Map<string, 'open' | 'done'>();
  const cycles: string[] = [];
  const walk = (path: string, trail: string[]): void => {
    if (state.get(path) === 'done') return;
    if (state.get(path) === 'open') {
      cycles.push(`cycle: ${[...trail.slice(trail.indexOf(path)), path].join(' -> ')}`);
      return;
    }
    state.set(path, 'open');
    for (const next of graph.get(path) ?? []) if (graph.has(next)) walk(next, [...trail, path]);
    state.set(path, 'done');
  };
  for (const path of graph.keys()) walk(path, []);
  return cycles;
}

const relativeTargets = (file: SourceFacts): string[] =>
  file.imports
    .filter((fact) => isRelative(fact.specifier) && !fact.typeOnly)
    .map((fact) => posix.join(posix.dirname(file.path), fact.specifier).replace(/\.js(x?)$/, '.ts$1'));

const isRelative = (specifier: string): boolean => specifier.startsWith('.');
const isRootFile = (path: string): boolean => !path.includes('/');
const isBuiltin = (specifier: string): boolean =>
  specifier.startsWith('node:') || builtinModules.includes(specifier.split('/')[0] ?? specifier);
const moduleName = (specifier: string): string =>
  specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');

function packageOf(path: string): string | null {
  const row = Object.entries(PACKAGES).find(([, rule]) => path.startsWith(`${rule.directory}/`));
  return row ? row[0] : null;
}
