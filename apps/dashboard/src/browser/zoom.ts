import { asyncBufferFromUrl } from 'hyparquet';
import { timeline } from '@stillmark/charts';
import { decodeReadings, decodeSeries, type SeriesFile, type TimeSpan } from '@stillmark/snapshot/series';
import { ZoneClock } from '@stillmark/wording';
import { speakAsPage } from './words.ts';
import type { ZoomTask } from './zoom-task.ts';

speakAsPage(document);

/** Draws a span of a timeline, at both sizes, by the function that drew the page. */
globalThis.stillmarkZoom = async (task: ZoomTask, span: TimeSpan): Promise<string[]> => {
  const open = async (address: string): Promise<SeriesFile> => {
    const { href } = new URL(address, document.baseURI);
    // A host that does not tell the length of a file cannot serve parts of it either.
    return asyncBufferFromUrl({ url: href }).catch(async () => {
      const response = await fetch(href);
      if (!response.ok) throw new Error(`the host answered ${response.status}`);
      return response.arrayBuffer();
    });
  };
  const [epochs, windows] = await Promise.all([open(task.epochs), open(task.windows)]);
  const [series, sensors] = await Promise.all([
    decodeSeries({ epochs, windows }, span),
    Promise.all(
      task.sensors.map(async ({ name, unit, address }) => ({
        name,
        unit,
        readings: await decodeReadings(await open(address), span),
      })),
    ),
  ]);
  return (['wide', 'narrow'] as const).map((size) =>
    timeline({
      ...task.words,
      id: `timeline-${size}`,
      width: size === 'wide' ? 880 : 360,
      series,
      sensors,
      span,
      zone: new ZoneClock(task.timeZone),
    }),
  );
};
