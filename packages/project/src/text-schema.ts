import { z } from 'zod';

/** Text that a person writes, and pages print. */
export const text = z
  .string()
  .min(1, 'the text is empty')
  .max(2000, 'the text is longer than 2000 characters');
