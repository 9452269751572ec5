/** Hands text to the browser as a download. */
export const saveText = (name: string, type: string, text: string): void => saveBlob(name, new Blob([text], { type }));

export function saveBlob(name: string, blob: Blob): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  // The browser has its own hold on the data once the click has been handled.
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}

/** RFC 4180 lines. A leading = + - @ would run as a formula in a spreadsheet, so such text gets a quote before it. */
export function csvText(rows: readonly (readonly (string | number | null)[])[]): string {
  return rows
    .map((row) => row.map(csvCell).join(','))
    .join('\r\n')
    .concat('\r\n');
}

function csvCell(value: string | number | null): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(value);
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
