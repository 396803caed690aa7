import { writeWords, type Effects, type WordsResult } from '@stillmark/pipeline';
import type { Problem } from '@stillmark/problems';
import type { Command } from 'commander';
import { builtRenderer } from './renderer.ts';

export const wordsDetails = `Writes a PO file with everything that a site says, for translation, or brings one up to
date: new messages are added, translations and comments stay as they are, and what a site
says no more is kept at the end of the file. \`words\` of project.yaml names the file from
which a site takes its words; what is not translated stays English.`;

export interface WordsOptions {
  readonly out: string;
  readonly language?: string;
  readonly json?: boolean;
}

export function addWordsOptions(command: Command): Command {
  return command
    .requiredOption('--out <file>', 'PO file to write, or to bring up to date')
    .option('--language <tag>', 'language of a new file, such as de or pt-BR');
}

export async function wordsWork(
  { out, language }: WordsOptions,
  effects: Effects,
): Promise<{ lines: string[]; data: WordsResult; problems: readonly Problem[] }> {
  const { messages } = await builtRenderer();
  const result = await writeWords(
    { out, ...(language === undefined ? {} : { language }) },
    messages,
    effects,
  );
  const lines = [
    `${out}: ${result.translated} of ${result.messages} messages are translated into ${result.language}`,
    ...(result.added > 0 ? [`${result.added} new`] : []),
    ...(result.gone > 0 ? [`${result.gone} that a site says no more, kept at the end of the file`] : []),
  ];
  return { lines, data: result, problems: result.problems };
}
