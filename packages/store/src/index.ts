export { engineVersion } from './database.ts';
export type { DeliveredCsv } from './delivered-csv.ts';
export { EpochStore, type Delivered } from './epoch-store.ts';
export { storeLock, withLock } from './lock.ts';
export type { Added, Partition } from './monthly-table.ts';
export { ReadingStore } from './reading-store.ts';
export { TrackingStore } from './tracking-store.ts';
