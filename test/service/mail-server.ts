import { SMTPServer } from 'smtp-server';

export interface MailServer {
  url: string;
  /** As they came, oldest first. */
  mails: string[];
  refuse(refuse: boolean): void;
  close(): Promise<void>;
}

/** A mail server of this machine that keeps what it was given. */
export async function startMailServer(): Promise<MailServer> {
  const mails: string[] = [];
  let refusing = false;
  const server = new SMTPServer({
    ...{ authOptional: true, disabledCommands: ['STARTTLS'] },
    onData(stream, _session, done) {
      let text = '';
      stream.on('data', (part) => {
        text += part;
      });
      stream.on('end', () => {
        if (!refusing) mails.push(text);
        done(refusing ? new Error('mailbox is full') : null);
      });
    },
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.server.address() as { port: number };
  return {
    ...{ url: `smtp://127.0.0.1:${port}`, mails },
    refuse: (refuse) => {
      refusing = refuse;
    },
    close: () => new Promise<void>((resolve) => server.close(() => resolve())),
  };
}
