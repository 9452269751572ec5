/** The one place where text becomes SQL: values are bound, identifiers and paths are quoted here. */
export const quoteIdentifier = (name: string): string => `"${name.replaceAll('"', '""')}"`;
export const quoteText = (text: string): string => `'${text.replaceAll("'", "''")}'`;
