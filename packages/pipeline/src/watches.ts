import type { StationWatch, WatchTask } from '@stillmark/analysis';
import {
  isOfPairs,
  watchedBy,
  type Project,
  type Station,
  type Stream,
  type Trigger,
} from '@stillmark/project';
import { primaryStream } from './project-settings.ts';

/** What triggers watch of a station in a stream. */
export function watchesOf(project: Project, station: Station, stream: Stream): StationWatch[] {
  return project.triggers.flatMap((trigger): StationWatch[] => {
    const { quantity, figures } = trigger;
    if (isOfPairs(quantity) || !watchedBy(project, trigger).includes(station.id)) return [];
    // By name: a thread is handed copies.
    if (streamNamed(project, station, trigger).name !== stream.name) return [];
    return [{ ...meansOf(trigger), quantity, figures }];
  });
}

/** The stream in which a trigger watches a station: its own, or that in which the station is told. */
export function streamNamed(project: Project, station: Station, { stream }: Trigger): Stream {
  return project.streams.find(({ name }) => name === stream) ?? primaryStream(project, station);
}

/** Which means a trigger watches. */
export function meansOf({ name, window, rateOver }: Trigger): Omit<WatchTask, 'quantity'> {
  return { name, windowMs: window, ...(rateOver === undefined ? {} : { rateOverMs: rateOver }) };
}
