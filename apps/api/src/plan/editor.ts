/** Who edits, as the caller says; kept with the change. Null where nothing was said. */
export function editorOf(headers: Record<string, string | string[] | undefined>): string | null {
  const given = headers['x-tallybay-editor'];
  return typeof given === 'string' && given.length > 0 && given.length <= 120 ? given : null;
}
