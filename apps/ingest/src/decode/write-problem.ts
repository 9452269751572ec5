import { classifyError, TallybayError } from '@tallybay/contracts';

/** What a decode session throws: its only system calls are the writes of staged lake files, so their errors are the lake's. */
export function decodeProblem(thrown: unknown): TallybayError {
  if (thrown instanceof Error && 'syscall' in thrown && 'code' in thrown)
    return new TallybayError('lake_unwritable', `The lake cannot be written: ${thrown.message}`, {
      advice: 'Check the disk. The upload is tried again for a while; later, `tallybay decode-again` takes it up.',
      cause: thrown,
    });
  return classifyError(thrown);
}
