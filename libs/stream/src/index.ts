// The stream between receive and decode: a port, an embedded durable spool, and Apache Kafka.
// Only this lib may import a Kafka client. Imports contracts for errors; knows nothing of logs, vehicles or the lake.
export * from './port.js';
