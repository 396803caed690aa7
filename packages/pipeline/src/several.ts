/** So many files are on their way to the disk at once: it is told to keep each, and does many in one go. */
const together = 16;

/** Does something with each of many, several at once; all that have begun have ended when it fails, so that nothing is written behind what is swept away. */
export async function severalAtOnce<T>(all: Iterable<T>, work: (one: T) => Promise<void>): Promise<void> {
  const items = [...all];
  for (let from = 0; from < items.length; from += together) {
    const ended = await Promise.allSettled(items.slice(from, from + together).map(work));
    for (const one of ended) if (one.status === 'rejected') throw one.reason;
  }
}
