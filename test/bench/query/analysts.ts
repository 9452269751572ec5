import { ask } from './ask.js';
import { mixed } from './statements.js';

export interface AnalystsFigures {
  answered: number;
  /** What went wrong, in the service's words; empty when nothing did. */
  errors: string[];
  /** Answers that saw a part of an upload. */
  torn: string[];
  /** From asking to the last byte. */
  seconds: { median: number; p95: number; longest: number };
}

/** So many people, each asking the next question as soon as the last is answered: nobody stops to think. */
export class Analysts {
  private readonly people: Promise<void>[];
  private readonly seconds: number[] = [];
  private readonly errors: string[] = [];
  private readonly torn: string[] = [];
  private isOver = false;

  constructor(
    private readonly url: string,
    { people, rowsPerLog }: { people: number; rowsPerLog: number },
  ) {
    const questions = mixed(rowsPerLog);
    this.people = Array.from({ length: people }, async (_, person) => {
      for (let turn = person; !this.isOver; turn++)
        await this.askOne(questions[turn % questions.length]!, `analyst-${person}`);
    });
  }

  /** Lets everybody finish the question in hand. */
  async stop(): Promise<AnalystsFigures> {
    this.isOver = true;
    await Promise.all(this.people);
    const sorted = this.seconds.sort((a, b) => a - b);
    const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0;
    return {
      answered: sorted.length,
      errors: this.errors,
      torn: this.torn,
      seconds: { median: at(0.5), p95: at(0.95), longest: at(1) },
    };
  }

  private async askOne(question: ReturnType<typeof mixed>[number], person: string): Promise<void> {
    try {
      const { sql, accept, torn } = question;
      const answer = await ask(this.url, { sql, accept, person, keep: torn ?? false });
      if (answer.status !== 200) this.errors.push(`${answer.status} ${answer.text}`);
      else if (torn && (JSON.parse(answer.text) as { rowCount: number }).rowCount > 0) this.torn.push(answer.text);
      this.seconds.push(answer.seconds);
    } catch (error) {
      this.errors.push(`${(error as Error).message}`);
    }
  }
}
