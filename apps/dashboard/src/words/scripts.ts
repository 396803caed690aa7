import { spokenPart } from '@stillmark/words';
import keys from 'virtual:browser-keys';

/** The words that scripts say in the browser, as a page carries them; undefined in English. */
export function wordsOfScripts(): string | undefined {
  const words = spokenPart(keys);
  return words && JSON.stringify(words);
}
