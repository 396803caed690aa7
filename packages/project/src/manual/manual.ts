import { z } from 'zod';
import { projectJsonSchema } from '../read.ts';
import { referencePositions } from '../reference-positions.ts';
import { releasesSchema } from '../releases.ts';
import { responseModels } from '../response-models.ts';
import { rowsOf, type KeyRow, type SchemaNode } from './rows.ts';
import { sections } from './sections.ts';

const heading = `# The project file

Every key of \`project.yaml\`, made from the schema that the command reads it by (\`stillmark schema project --markdown\` prints this page for the version at
hand, \`stillmark schema project\` the JSON Schema for editors). \`stillmark check PROJECT\` names what is wrong, by line and column.

- \`stations[].id\` is the key \`id\` of each entry of the list \`stations\`.
- *given*: whether the key must be there, where what holds it is; where it need not, what holds without it.
- Quantities are text with a unit (\`8 mm\`, \`24 h\`, \`80 %\`), times ISO 8601 with a zone. Keys that are not listed are refused, with the nearest that is.
- Paths of files are those inside the project folder; \`*\` stands for any characters but a slash, \`**\` for any folders.

Taken together the examples are one project file, of an invented slope. Its levels and limits are invented too: on a real site they are set by the responsible
licensed engineer, and local codes come first. Longer ones, with a comment on every key, are the project files of the demos (\`larkmoor-dam\`,
\`plovermouth-bridge\` and \`harrowfold-slope\` under \`data\` in the repository).
`;

const committedHeading = `## Files that commands write

They stand beside \`project.yaml\`, are only ever added to, and hold who decided what. Keep them with the project file; do not edit them. Of one station and
stream the last entry counts.
`;

/** Markdown of every key of the project file and of the files that commands write beside it, from their schemas. */
export function projectManual(): string {
  const schema = projectJsonSchema() as SchemaNode;
  const parts = sections.map(({ title, about, keys, example }) =>
    [
      `## ${title}\n\n${about}\n`,
      table(keys.flatMap((key) => rowsOf(schema.properties![key]!, key, isRequired(schema, key)))),
      `\`\`\`yaml\n${example}\`\`\`\n`,
    ].join('\n'),
  );
  return [heading, ...parts, committedHeading, ...written.map(tableOfFile)].join('\n');
}

const written = [
  {
    file: 'reference-positions.yaml',
    by: '`stillmark commit`: reference positions, with their evidence.',
    schema: referencePositions.schema,
  },
  {
    file: 'response-models.yaml',
    by: '`stillmark commit-response`: what logs do to stations, frozen.',
    schema: responseModels.schema,
  },
  {
    file: 'releases.yaml',
    by: '`stillmark release`: who approved which snapshot for the released site. The last entry is shown.',
    schema: releasesSchema,
  },
];

function tableOfFile({ file, by, schema }: (typeof written)[number]): string {
  const node = z.toJSONSchema(schema, { io: 'input' }) as SchemaNode;
  const rows = Object.entries(node.properties!).flatMap(([key, below]) =>
    rowsOf(below, key, isRequired(node, key)),
  );
  return `### ${file}\n\nBy ${by}\n\n${table(rows)}`;
}

const isRequired = (schema: SchemaNode, key: string): boolean => schema.required?.includes(key) === true;

/** In a cell a bar would end it. */
const cell = (text: string): string => text.replaceAll('|', String.raw`\|`);

function table(rows: readonly KeyRow[]): string {
  const lines = rows.map(
    ({ path, value, given, says }) => `| \`${cell(path)}\` | ${[value, given, says].map(cell).join(' | ')} |`,
  );
  return `| key | value | given | says |\n|---|---|---|---|\n${lines.join('\n')}\n`;
}
