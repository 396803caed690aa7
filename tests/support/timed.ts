import { spawn } from 'node:child_process';
import { built } from './command.ts';

/** Seconds that the built command takes with some arguments; what it says is not heard but for its errors. */
export const timed = (...args: readonly string[]): Promise<number> =>
  new Promise((resolve, reject) => {
    const start = process.hrtime.bigint();
    const child = spawn(process.execPath, [built, ...args], { stdio: ['ignore', 'ignore', 'inherit'] });
    child.on('close', (code) =>
      code === 0 ? resolve(Number(process.hrtime.bigint() - start) / 1e9) : reject(new Error(args.join(' '))),
    );
  });
