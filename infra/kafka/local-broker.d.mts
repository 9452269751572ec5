/** Types of local-broker.mjs, for tests in TypeScript. */
export interface LocalBroker {
  brokers: string[];
  directory: string;
  port: number;
  controllerPort: number;
  pid: number;
  logPath: string;
  stop(options?: { keepData?: boolean }): Promise<void>;
  kill(): Promise<void>;
}

export interface LocalBrokerOptions {
  directory?: string;
  port?: number;
  controllerPort?: number;
  heapMb?: number;
  /** Where clients are told to connect, when something stands between: a proxy that plays a broken network. */
  advertisedPort?: number;
  /** Lets the broker outlive the process that started it. */
  detached?: boolean;
}

export declare const KAFKA_VERSION: string;
export declare const TOOLS: string;
export declare function missingForBroker(): string | undefined;
export declare function fetchBroker(): string;
export declare function startLocalBroker(options?: LocalBrokerOptions): Promise<LocalBroker>;
