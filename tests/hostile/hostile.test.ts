import { describe, expect, test } from 'vitest';
import { attack } from './attack.ts';
import { readers } from './readers.ts';

// A short run of what `node tests/hostile/run.ts` does at length: property-based (fast-check), seeded, so that it is the same every time.
describe('files that are spoilt in any way are read, or refused by name', () => {
  test.each(readers)('$name', async (reader) => {
    const { read, refused } = await attack(reader, 300, 7);
    // Both happen, or the spoiling is too mild or too wild to show anything.
    expect(read + refused).toBe(300);
    expect(refused + read).toBeGreaterThan(0);
    expect(read).toBeGreaterThan(5);
  });
});
