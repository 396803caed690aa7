#!/usr/bin/env node
import { createInterface } from 'node:readline';
import { run } from './program.ts';

process.exitCode = await run(process.argv.slice(2), {
  out: (text) => process.stdout.write(text),
  err: (text) => process.stderr.write(text),
  interactive: process.stderr.isTTY,
  nowMs: Date.now,
  input: {
    terminal: process.stdin.isTTY,
    lines: () => createInterface({ input: process.stdin })[Symbol.asyncIterator](),
  },
});
