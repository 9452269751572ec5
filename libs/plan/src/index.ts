/**
 * From findings to booked visits: which inspections a vehicle is due, and the plan that fits them into the bays.
 * Pure: no Nest, Kafka, DuckDB, files, clock. It must never import an app, the lake or the registry.
 */
export {};
