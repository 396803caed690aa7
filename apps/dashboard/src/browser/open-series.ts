import { asyncBufferFromUrl } from 'hyparquet';
import { openSeries, type OpenSeries, type SeriesFile } from '@stillmark/snapshot/series';
import { runScript } from './script.ts';
import type { CarriedSeries } from './zoom-task.ts';

/** A file of a host, by range where it serves ranges. */
export async function fetched(address: string): Promise<OpenSeries> {
  const { href } = new URL(address, document.baseURI);
  // A host that does not tell the length of a file cannot serve parts of it either.
  const file = await asyncBufferFromUrl({ url: href }).catch(async (): Promise<SeriesFile> => {
    const response = await fetch(href);
    if (!response.ok) throw new Error(`the host answered ${response.status}`);
    return response.arrayBuffer();
  });
  return openSeries(file);
}

/** A file that a script of a folder carries. */
export async function handedOver(
  carried: CarriedSeries | undefined,
  part: 'epochs' | 'windows' | 'readings',
): Promise<OpenSeries> {
  if (!carried) throw new Error('no script carries this series');
  await runScript(carried.script);
  const text = globalThis.stillmarkSeries?.[carried.name]?.[part];
  if (text === undefined) throw new Error('the script does not carry this series');
  return openSeries(Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)));
}
