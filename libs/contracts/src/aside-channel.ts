const ASIDE = 'aside:';

/**
 * Id under which a channel that the catalogue does not know is plotted: its header as the recorder wrote it, escaped so that
 * commas and tildes, which separate ids and units in links, and anything else that a header may hold pass through.
 */
export const asideId = (header: string): string => ASIDE + encodeURIComponent(header).replaceAll('~', '%7E');

/** Header behind such an id; null = the id is none, or was cut off. */
export function asideHeader(id: string): string | null {
  if (!id.startsWith(ASIDE)) return null;
  try {
    return decodeURIComponent(id.slice(ASIDE.length));
  } catch {
    // A percent sign without two digits: links lose their ends in mails.
    return null;
  }
}
