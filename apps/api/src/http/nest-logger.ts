import type { LoggerService } from '@nestjs/common';
import type { Logger } from 'pino';

/** What the framework has to say, into the same structured log as everything else. */
export class NestLogger implements LoggerService {
  constructor(private readonly log_: Logger) {}

  log(message: unknown, context?: string): void {
    this.log_.debug({ context }, String(message));
  }

  warn(message: unknown, context?: string): void {
    this.log_.warn({ context }, String(message));
  }

  error(message: unknown, ...details: unknown[]): void {
    this.log_.error({ details }, String(message));
  }

  fatal(message: unknown, ...details: unknown[]): void {
    this.log_.fatal({ details }, String(message));
  }
}
