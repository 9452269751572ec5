import { TallybayError } from '@tallybay/contracts';

/** A record is put under its own id. @throws TallybayError `body_invalid` when body and address disagree */
export function atItsAddress<T extends { id: string }>(id: string, record: T): T {
  if (record.id === id) return record;
  throw new TallybayError('body_invalid', `id: the address says ${id}, the body ${record.id}`, {
    advice: 'Use the same id in both; an id is never changed',
    place: { field: 'id' },
  });
}
