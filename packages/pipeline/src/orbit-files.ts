import { join } from 'node:path';
import { readNavigation, readYuma, type BroadcastOrbit } from '@stillmark/formats';
import { SkyPositions } from '@stillmark/geodesy';
import { ProblemError, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import { partsOf } from './delivered-file.ts';
import type { Files } from './effects.ts';
import { checkInside, filesOf, type ProjectFolder } from './project-folder.ts';

const rollOverMs = 1024 * 7 * dayMs;

/**
 * All orbits of RINEX navigation files and YUMA almanacs that patterns name. A file that cannot be read stops nothing, and is told.
 *
 * @param aboutMs a time near which almanacs count their weeks; 1024 weeks earlier they serve too
 */
export async function skyFrom(
  opened: ProjectFolder,
  patterns: readonly string[],
  what: string,
  aboutMs: number,
  files: Files,
): Promise<{ sky: SkyPositions; problems: readonly Problem[] }> {
  const { paths, problems } = await filesOf(opened, { files: patterns, what }, files);
  const orbits: BroadcastOrbit[] = [];
  for (const file of paths) {
    try {
      await checkInside(opened, file, files);
      for (const part of await partsOf(join(opened.folder, file), file, files)) {
        const bytes = await part.bytes();
        const begin = new TextDecoder('latin1').decode(bytes.subarray(0, 80));
        if (begin.includes('RINEX')) {
          const read = readNavigation(bytes, part.name);
          orbits.push(...read.orbits);
          problems.push(...read.rejected.map((r) => r.problem));
          continue;
        }
        // Almanacs count weeks anew after 1024: an old one may be meant for old observations, and serves at its own time alone.
        const [own, before] = [0, rollOverMs].map((ms) => readYuma(bytes, part.name, aboutMs - ms));
        orbits.push(...own!.orbits, ...before!.orbits);
        problems.push(...own!.rejected.map((r) => r.problem));
      }
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      problems.push(...error.problems);
    }
  }
  return { sky: new SkyPositions(orbits), problems };
}
