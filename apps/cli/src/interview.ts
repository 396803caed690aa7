import { starterQuestions, wrongStation, type InitTask } from '@stillmark/pipeline';
import { fail } from '@stillmark/problems';

/** Somebody who is asked: lines of the standard input, whether from a terminal or from a pipe. */
export interface Interviewed {
  readonly say: (text: string) => void;
  readonly lines: AsyncIterator<string>;
}

type Options = Partial<Omit<InitTask, 'stations'>> & { readonly stations?: string };

/** What must be known and has no fallback, as options of the command. */
export function missingOptions(given: Options): string[] {
  return [
    ...(given.stations === undefined ? ['--stations'] : []),
    ...starterQuestions.flatMap(({ key, fallback }) =>
      given[key] === undefined && fallback === undefined ? [`--${key}`] : [],
    ),
  ];
}

/** What was given, with what projects have where nobody says otherwise. */
export function withFallbacks(given: Options): InitTask {
  return {
    ...Object.fromEntries(starterQuestions.map(({ key, fallback }) => [key, given[key] ?? fallback])),
    stations: given.stations,
  } as unknown as InitTask;
}

/**
 * Asks for everything that was not given, and again where an answer cannot be used.
 *
 * @throws USE_OPTION where the answers end before all is known; nothing has been written then
 */
export async function interview(given: Options, { say, lines }: Interviewed): Promise<InitTask> {
  const next = async (question: string): Promise<string> => {
    say(question);
    const { done, value } = await lines.next();
    if (done)
      return fail('USE_OPTION', 'the answers end before all is known; nothing was written', {
        hint: 'answer every question, or give options',
      });
    return value.trim();
  };
  const until = async (
    question: string,
    wrong: (answer: string) => string | undefined,
    fallback = '',
  ): Promise<string> => {
    for (;;) {
      const answer = (await next(`${question}${fallback === '' ? '' : ` [${fallback}]`}: `)) || fallback;
      const reason = wrong(answer);
      if (reason === undefined) return answer;
      say(`  ${reason}\n`);
    }
  };
  const answers: Record<string, string> = {};
  for (const { key, ask, fallback, wrong } of starterQuestions)
    answers[key] = given[key] ?? (await until(ask, wrong, fallback));
  const stations =
    given.stations ??
    ((await next('CSV file of the stations (nothing: type them here): ')) || { typed: await typed(until) });
  return { ...answers, stations } as unknown as InitTask;
}

async function typed(
  until: (question: string, wrong: (answer: string) => string | undefined) => Promise<string>,
): Promise<string[]> {
  const rows: string[] = [];
  const roleOf = (row: string): string | undefined => row.split(',')[1]?.trim().toLowerCase();
  const idOf = (row: string): string => row.split(',')[0]!.trim();
  for (;;) {
    const row = await until(
      `Station ${rows.length + 1}: id, base or monitoring, what it stands on, latitude, longitude, height (nothing: no more)`,
      (answer) => {
        if (answer === '')
          return rows.length > 1 && rows.some((r) => roleOf(r) === 'base')
            ? undefined
            : 'at least two stations, one of them a base';
        return (
          wrongStation(answer) ??
          (rows.some((r) => idOf(r) === idOf(answer)) ? `${idOf(answer)} is there already` : undefined)
        );
      },
    );
    if (row === '') return rows;
    rows.push(row);
  }
}
