import { depotSchema } from '@tallybay/contracts';
import { z } from 'zod';
import type { ServiceClient } from './client.js';

const answerSchema = z.object({ depots: z.array(depotSchema.pick({ id: true, name: true })) });

interface OfDepot {
  depot: string;
}

/**
 * Puts the depots' names in the place of their ids, for printing: people know the yard's name. Where a depot has none, or the
 * service does not tell, the id stays; a table is not refused for that.
 */
export async function depotNamer(client: ServiceClient): Promise<<T extends OfDepot>(rows: readonly T[]) => T[]> {
  const answer = await client.json({ method: 'GET', path: '/v1/depots' }, answerSchema).catch(() => ({ depots: [] }));
  const names = new Map(answer.depots.map(({ id, name }) => [id, name]));
  return (rows) => rows.map((row) => ({ ...row, depot: names.get(row.depot) || row.depot }));
}
