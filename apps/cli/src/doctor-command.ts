import { constants } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { availableParallelism, totalmem } from 'node:os';
import { doctor, type Effects, type Machine } from '@stillmark/pipeline';
import type { Problem } from '@stillmark/problems';
import { machineSentence } from '@stillmark/wording';
import type { Command } from 'commander';
import { browserAtHand, may } from './browser-at-hand.ts';

export const doctorDetails = `Looks at Node, memory, threads, the database engine, time zones, Chromium and the clock;
with a project, at its folder, the room on its disk and its store too. Of what is
missing it says what it is for and how to get it. Writes nothing.`;

export function addDoctorOptions(command: Command): Command {
  return command.argument('[project]', 'project folder, with project.yaml');
}

export async function doctorWork(
  folder: string | undefined,
  effects: Effects,
): Promise<{ lines: string[]; data: object; problems: readonly Problem[] }> {
  const { findings, problems } = await doctor(folder, thisMachine, effects);
  return { lines: findings.map(machineSentence), data: { findings }, problems };
}

const thisMachine: Machine = {
  node: process.versions.node,
  // In a container the limit counts; where there is none Node tells nothing, or more than there is.
  memory: Math.min(totalmem(), process.constrainedMemory() || Number.POSITIVE_INFINITY),
  threads: availableParallelism(),
  zoneData: process.versions['tz'],
  async freeBytes(folder) {
    const { bavail, bsize } = await statfs(folder);
    return bavail * bsize;
  },
  mayWrite: (folder) => may(folder, constants.W_OK),
  program: browserAtHand,
};
