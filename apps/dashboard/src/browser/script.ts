const loading = new Map<string, Promise<void>>();

/** Runs a script of the site, once; one that could not be fetched is asked for again by the next call. */
export function runScript(address: string): Promise<void> {
  let run = loading.get(address);
  if (!run) {
    run = new Promise((resolve, reject) => {
      const script = document.createElement('script');
      script.src = address;
      script.addEventListener('load', () => resolve());
      script.addEventListener('error', () => {
        loading.delete(address);
        reject(new Error('not fetched'));
      });
      document.head.append(script);
    });
    loading.set(address, run);
  }
  return run;
}
