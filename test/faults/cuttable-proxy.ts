import { connect, createServer, type Server, type Socket } from 'node:net';

/**
 * A TCP proxy on the loopback address that can play a cut network: what is open goes silent, as with a pulled cable, and
 * new connections get no answer.
 */
export class CuttableProxy {
  private readonly sockets = new Set<Socket>();
  private isCut = false;

  private constructor(private readonly server: Server) {}

  static async start(port: number, targetPort: number): Promise<CuttableProxy> {
    const server = createServer();
    const proxy = new CuttableProxy(server);
    server.on('connection', (socket) => proxy.join(socket, targetPort));
    await new Promise<void>((resolve, reject) => server.once('error', reject).listen(port, '127.0.0.1', resolve));
    return proxy;
  }

  /** Bytes no longer pass, in either direction; nobody is told. */
  cut(): void {
    this.isCut = true;
    for (const socket of this.sockets) socket.pause();
  }

  /** New connections pass again; those from before are reset, as a router does that has forgotten them. */
  mend(): void {
    this.isCut = false;
    for (const socket of this.sockets) socket.resetAndDestroy();
  }

  async close(): Promise<void> {
    for (const socket of this.sockets) socket.destroy();
    await new Promise((resolve) => this.server.close(resolve));
  }

  private join(client: Socket, targetPort: number): void {
    this.keep(client);
    if (this.isCut) {
      client.pause();
      return;
    }
    const target = connect(targetPort, '127.0.0.1');
    this.keep(target);
    for (const [from, to] of [
      [client, target],
      [target, client],
    ] as const) {
      from.on('data', (bytes) => {
        if (this.isCut) return;
        if (!to.write(bytes)) {
          from.pause();
          to.once('drain', () => !this.isCut && from.resume());
        }
      });
      from.on('close', () => to.destroy());
    }
  }

  private keep(socket: Socket): void {
    this.sockets.add(socket);
    socket.on('error', () => {});
    socket.on('close', () => this.sockets.delete(socket));
  }
}
