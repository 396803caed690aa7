export { engineVersion } from './database.ts';
export type { DeliveredCsv } from './delivered-csv.ts';
export { EpochStore, type Delivered } from './epoch-store.ts';
export { lockWaitMs, storeLock, withLock } from './lock.ts';
export { tableNames, type Added, type Partition, type TableName } from './monthly-table.ts';
export { openObjectStorage, parseAddress, type ObjectStorage, type StoredObject } from './object-storage.ts';
export { isReadable, rowsBeyond } from './rows-beyond.ts';
export { ReadingStore } from './reading-store.ts';
export { TrackingStore } from './tracking-store.ts';
