/**
 * Reads the part of YAML 1.2 that our own files use: block maps and lists, quoted and plain scalars on one line, lists in
 * brackets, comments. Anything else, tabs, uneven indentation and repeated keys are errors, so that what is read here is
 * read alike by every YAML parser. Scalars stay text.
 */
export type Yaml = string | null | Yaml[] | { [key: string]: Yaml };

interface Line {
  indent: number;
  text: string;
  number: number;
}

export function parsePlainYaml(source: string): Yaml {
  const lines = source
    .split('\n')
    .map((raw, index) => ({ raw: withoutComment(raw), number: index + 1 }))
    .filter(({ raw }) => raw.trim() !== '')
    .map(({ raw, number }): Line => {
      if (raw.includes('\t')) throw new Error(`line ${number}: a tab`);
      return { indent: raw.length - raw.trimStart().length, text: raw.trim(), number };
    });
  const { value, next } = block(lines, 0, 0);
  if (next < lines.length) throw new Error(`line ${lines[next]!.number}: indented less than what it belongs to`);
  return value;
}

function block(lines: Line[], from: number, indent: number): { value: Yaml; next: number } {
  const first = lines[from];
  if (!first || first.indent < indent) return { value: null, next: from };
  return first.text.startsWith('- ') ? list(lines, from, first.indent) : map(lines, from, first.indent);
}

function list(lines: Line[], from: number, indent: number): { value: Yaml; next: number } {
  const items: Yaml[] = [];
  let at = from;
  while (at < lines.length && lines[at]!.indent === indent && lines[at]!.text.startsWith('- ')) {
    const line = lines[at]!;
    const text = line.text.slice(2).trim();
    if (!KEY.test(text)) {
      items.push(scalar(text, line));
      at++;
      continue;
    }
    // A map that begins on the dash's line goes on two columns further in.
    lines[at] = { ...line, indent: indent + 2, text };
    const inner = map(lines, at, indent + 2);
    items.push(inner.value);
    at = inner.next;
  }
  return { value: items, next: at };
}

const KEY = /^([A-Za-z_][\w.-]*):(?: (.*))?$/;

function map(lines: Line[], from: number, indent: number): { value: Yaml; next: number } {
  const entries: { [key: string]: Yaml } = {};
  let at = from;
  while (at < lines.length && lines[at]!.indent === indent) {
    const line = lines[at]!;
    const [, key, rest] = KEY.exec(line.text) ?? [];
    if (key === undefined) throw new Error(`line ${line.number}: expected "key: value", got ${line.text}`);
    if (Object.hasOwn(entries, key)) throw new Error(`line ${line.number}: ${key} comes twice`);
    if (rest !== undefined) {
      entries[key] = scalar(rest.trim(), line);
      at++;
      continue;
    }
    const inner = block(lines, at + 1, indent + 1);
    entries[key] = inner.value;
    at = inner.next;
  }
  if (at < lines.length && lines[at]!.indent > indent) throw new Error(`line ${lines[at]!.number}: indented unevenly`);
  return { value: entries, next: at };
}

function scalar(text: string, line: Line): Yaml {
  if (text.startsWith('[')) {
    if (!text.endsWith(']')) throw new Error(`line ${line.number}: a list without its end`);
    return JSON.parse(text) as string[];
  }
  if (text.startsWith('"')) return JSON.parse(text) as string;
  if (/^[&*!|>'%@`{#]/.test(text) || /: |\s#/.test(text))
    throw new Error(`line ${line.number}: ${text} must be quoted`);
  if (/^(yes|no|on|off|true|false|null|~)$/i.test(text) && !/^(true|false)$/.test(text))
    throw new Error(`line ${line.number}: ${text} means something else to some parsers`);
  return text;
}

/** A comment begins at the line's start or after a space, outside of quotes. */
function withoutComment(raw: string): string {
  let quoted = false;
  for (let i = 0; i < raw.length; i++) {
    if (raw[i] === '"') quoted = !quoted;
    if (raw[i] === '#' && !quoted && (i === 0 || raw[i - 1] === ' ')) return raw.slice(0, i);
  }
  return raw;
}
