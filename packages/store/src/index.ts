export { EpochStore, type Added, type Partition } from './epoch-store.ts';
export { withLock } from './lock.ts';
