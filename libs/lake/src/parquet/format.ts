import type { ColumnRow, ColumnType } from '../tables.js';
import type { ThriftStruct } from './thrift.js';

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
const ANNOTATION: Partial<Record<ColumnType, { converted?: number; logical: ThriftStruct }>> = {
  string: { converted: 0, logical: [[1, { struct: [] }]] },
  // TIMESTAMP(isAdjustedToUTC = true, MICROS): readers show an instant.
  timestamp: { converted: 10, logical: timestampMicros(true) },
  // Without a converted type: the older annotation would say that it is an instant (parquet.thrift, LogicalTypes.md).
  local_timestamp: { logical: timestampMicros(false) },
  date: { converted: 6, logical: [[6, { struct: [] }]] },
};

function timestampMicros(isInstant: boolean): ThriftStruct {
  const unit: ThriftStruct = [[2, { struct: [] }]];
  return [
    [
      8,
      {
        struct: [
          [1, { bool: isInstant }],
          [2, { struct: unit }],
        ],
      },
    ],
  ];
}

export function schemaElements(columns: readonly ColumnRow[]): ThriftStruct[] {
  const root: ThriftStruct = [
    [4, { text: 'schema' }],
    [5, { i32: columns.length }],
  ];
  return [root, ...columns.map(schemaElement)];
}

function schemaElement(column: ColumnRow): ThriftStruct {
  const annotation = ANNOTATION[column.type];
  return [
    [1, { i32: PHYSICAL[column.type] }],
    [3, { i32: OPTIONAL }],
    [4, { text: column.name }],
    ...(annotation
      ? ([
          ...(annotation.converted === undefined ? [] : ([[6, { i32: annotation.converted }]] as const)),
          [10, { struct: annotation.logical }],
        ] as const)
      : []),
  ];
}
