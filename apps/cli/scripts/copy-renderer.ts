/** Puts the built dashboard beside the built command, so that the package holds both. */
import { cp, rm } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';

const at = (path: string): string => fileURLToPath(new URL(path, import.meta.url));
const dashboard = at('../../dashboard/dist/');
const renderer = at('../dist/renderer/');

await rm(renderer, { recursive: true, force: true });
await cp(`${dashboard}renderer/server`, `${renderer}server`, { recursive: true });
await cp(`${dashboard}assets`, `${renderer}assets`, { recursive: true });
