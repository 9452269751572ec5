import type { ColumnRow, ColumnType } from '../tables.js';
import type { ThriftFields } from './thrift.js';

// Numbers of Apache Parquet's parquet.thrift (format 2.x).
export const PHYSICAL: Record<ColumnType, number> = {
  bool: 0,
  int32: 1,
  int64: 2,
  timestamp: 2,
  local_timestamp: 2,
  date: 1,
  float: 4,
  double: 5,
  string: 6,
};
export const ENCODING = { plain: 0, rle: 3, delta: 5, rleDictionary: 8, byteStreamSplit: 9 } as const;
export const CODEC = { none: 0, zstd: 6 } as const;
export const PAGE = { data: 0, dictionary: 2 } as const;
const OPTIONAL = 1;

/** `ConvertedType` and `LogicalType` of the types that need one; others are their physical type. */
const ANNOTATION: Partial<Record<ColumnType, { converted?: number; logical: ThriftFields }>> = {
  string: { converted: 0, logical: (to) => to.struct(1, noFields) },
  // TIMESTAMP(isAdjustedToUTC = true, MICROS): readers show an instant.
  timestamp: { converted: 10, logical: timestampMicros(true) },
  // Without a converted type: the older annotation would say that it is an instant (parquet.thrift, LogicalTypes.md).
  local_timestamp: { logical: timestampMicros(false) },
  date: { converted: 6, logical: (to) => to.struct(6, noFields) },
};

function noFields(): void {}

function timestampMicros(isInstant: boolean): ThriftFields {
  return (to) =>
    to.struct(8, (timestamp) => {
      timestamp.bool(1, isInstant);
      timestamp.struct(2, (unit) => unit.struct(2, noFields));
    });
}

/** The elements of the footer's schema list: a root, and one a column. */
export function schemaElements(columns: readonly ColumnRow[]): ThriftFields[] {
  return [
    (root) => {
      root.text(4, 'schema');
      root.i32(5, columns.length);
    },
    ...columns.map(schemaElement),
  ];
}

function schemaElement(column: ColumnRow): ThriftFields {
  const annotation = ANNOTATION[column.type];
  return (to) => {
    to.i32(1, PHYSICAL[column.type]);
    to.i32(3, OPTIONAL);
    to.text(4, column.name);
    if (annotation?.converted !== undefined) to.i32(6, annotation.converted);
    if (annotation) to.struct(10, annotation.logical);
  };
}
