import { z } from 'zod';

/** What names of streams, sensors and the like may be, for who reads of them. */
export const nameKind = '1 to 24 letters, digits, - and _';

/** Text that a person writes, and pages print. */
export const text = z
  .string()
  .min(1, 'the text is empty')
  .max(2000, 'the text is longer than 2000 characters')
  // Marks that turn the direction of text would turn what stands after them on a page too.
  .regex(
    /^(?:[^\p{Cc}\u202a-\u202e\u2066-\u2069]|[\t\n\r])*$/u,
    'the text holds characters that are not seen, or that turn its direction',
  )
  .meta({ title: 'text' });

/** A name that stands in sentences, tables and files: in one line, without characters that are not seen. */
export const title = z
  .string()
  .max(40, 'the name is longer than 40 characters')
  .regex(
    /^(?!\s)[^\p{C}\p{Zl}\p{Zp}]+(?<!\s)$/u,
    'a name has no line breaks or unseen characters, and no blank at its ends',
  )
  .meta({ title: 'name of at most 40 characters' });
