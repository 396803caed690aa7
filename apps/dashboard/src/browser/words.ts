import { speak, type Words } from '@stillmark/words';

/** Lets a script speak the language of its page, which carries what scripts say. Each script is a file of its own, and does this first. */
export function speakAsPage(page: Document): void {
  const words = page.querySelector<HTMLMetaElement>('meta[name="words"]')?.content;
  if (words) speak(JSON.parse(words) as Words);
}
