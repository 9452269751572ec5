/** A bounded number of things under way; whoever wants to begin another waits. */
export class Slots {
  private taken = 0;
  private readonly waiting: (() => void)[] = [];

  constructor(private readonly count: number) {}

  async take(): Promise<void> {
    while (this.taken >= this.count) await new Promise<void>((resolve) => this.waiting.push(resolve));
    this.taken++;
  }

  give(): void {
    this.taken--;
    this.waiting.shift()?.();
  }
}
