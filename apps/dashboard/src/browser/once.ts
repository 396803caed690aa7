/** Done when it is first needed; a failure is forgotten, so that the next one who needs it tries again. */
export function once<T>(start: () => Promise<T>): () => Promise<T> {
  let started: Promise<T> | undefined;
  return () =>
    (started ??= start().catch((error: unknown) => {
      started = undefined;
      throw error;
    }));
}
