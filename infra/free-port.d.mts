/** A port of the loopback address that nobody listens on. @throws Error when none was found */
export declare function freePort(): Promise<number>;
