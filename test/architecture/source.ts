import ts from 'typescript';
import { IMPURE_CALLS, IMPURE_GLOBALS } from './rules.js';

export interface SourceText {
  /** Path from the repository root, with `/`. */
  path: string;
  text: string;
}

export interface ImportFact {
  specifier: string;
  line: number;
  /** `import type` and `export type`: gone at run time. */
  typeOnly: boolean;
}

export interface SourceFacts {
  path: string;
  imports: ImportFact[];
  /** Uses of clock, chance, console, timers and Node's globals: what and where. */
  impurities: { what: string; line: number }[];
}

/** Reads one TypeScript file's imports (static, dynamic, re-exports, `import('…')` types) and its uses of impure globals. */
export function readFacts(source: SourceText): SourceFacts {
  const file = ts.createSourceFile(source.path, source.text, ts.ScriptTarget.Latest, true);
  const facts: SourceFacts = { path: source.path, imports: [], impurities: [] };
  const declared = declaredNames(file);
  const lineOf = (node: ts.Node) => file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
  const visit = (node: ts.Node): void => {
    const found = importOf(node);
    if (found) facts.imports.push({ ...found, line: lineOf(node) });
    const impurity = impurityOf(node, declared);
    if (impurity) facts.impurities.push({ what: impurity, line: lineOf(node) });
    ts.forEachChild(node, visit);
  };
  visit(file);
  return facts;
}

function importOf(node: ts.Node): Omit<ImportFact, 'line'> | null {
  if (ts.isImportDeclaration(node) && ts.isStringLiteral(node.moduleSpecifier))
    return { specifier: node.moduleSpecifier.text, typeOnly: isTypeOnlyImport(node.importClause) };
  if (ts.isExportDeclaration(node) && node.moduleSpecifier && ts.isStringLiteral(node.moduleSpecifier))
    return { specifier: node.moduleSpecifier.text, typeOnly: node.isTypeOnly };
  if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument) && ts.isStringLiteral(node.argument.literal))
    return { specifier: node.argument.literal.text, typeOnly: true };
  const isImportCall = ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword;
  const isRequire = ts.isCallExpression(node) && ts.isIdentifier(node.expression) && node.expression.text === 'require';
  if (isImportCall || isRequire) {
    const first = node.arguments[0];
    if (first && ts.isStringLiteralLike(first)) return { specifier: first.text, typeOnly: false };
  }
  return null;
}

function isTypeOnlyImport(clause: ts.ImportClause | undefined): boolean {
  if (!clause) return false;
  if (clause.phaseModifier === ts.SyntaxKind.TypeKeyword) return true;
  const named = clause.namedBindings;
  if (clause.name || !named || !ts.isNamedImports(named)) return false;
  return named.elements.length > 0 && named.elements.every((element) => element.isTypeOnly);
}

function impurityOf(node: ts.Node, declared: ReadonlySet<string>): string | null {
  if (ts.isNewExpression(node) && isGlobal(node.expression, 'Date', declared) && !node.arguments?.length)
    return 'new Date() without an argument';
  if (ts.isCallExpression(node) && isGlobal(node.expression, 'Date', declared)) return 'Date() as a function';
  if (ts.isPropertyAccessExpression(node) && ts.isIdentifier(node.expression)) {
    const path = `${node.expression.text}.${node.name.text}`;
    if (IMPURE_CALLS.includes(path) && !declared.has(node.expression.text)) return path;
  }
  if (ts.isIdentifier(node) && IMPURE_GLOBALS.includes(node.text) && !declared.has(node.text) && isReference(node))
    return node.text;
  return null;
}

const isGlobal = (node: ts.Node, name: string, declared: ReadonlySet<string>): boolean =>
  ts.isIdentifier(node) && node.text === name && !declared.has(name);

/** The identifier names the global itself: not a member, a key, or a part of a type. */
function isReference(node: ts.Identifier): boolean {
  const parent = node.parent;
  if (ts.isPropertyAccessExpression(parent)) return parent.expression === node;
  if (ts.isPropertyAssignment(parent)) return parent.initializer === node;
  if (ts.isElementAccessExpression(parent)) return true;
  return !(
    ts.isPropertySignature(parent) ||
    ts.isPropertyDeclaration(parent) ||
    ts.isMethodDeclaration(parent) ||
    ts.isMethodSignature(parent) ||
    ts.isTypeReferenceNode(parent) ||
    ts.isQualifiedName(parent) ||
    ts.isEnumMember(parent)
  );
}

/** Names that the file itself declares: they shadow the globals. */
function declaredNames(file: ts.SourceFile): Set<string> {
  const names = new Set<string>();
  const visit = (node: ts.Node): void => {
    const declares =
      ts.isVariableDeclaration(node) ||
      ts.isParameter(node) ||
      ts.isFunctionDeclaration(node) ||
      ts.isClassDeclaration(node) ||
      ts.isImportSpecifier(node) ||
      ts.isImportClause(node) ||
      ts.isBindingElement(node);
    if (declares && node.name && ts.isIdentifier(node.name)) names.add(node.name.text);
    ts.forEachChild(node, visit);
  };
  visit(file);
  return names;
}
