import { t } from '../../text/text.js';

/** The day of an instant, in the reader's zone. */
export const dayText = (instant: string): string =>
  new Date(instant).toLocaleDateString(t.locale, { dateStyle: 'medium' });
