import { spawn } from 'node:child_process';
import type { CommandEnd } from '@stillmark/pipeline';

/** What a command says is shown up to so many characters: one that never stops talking fills no log. */
const mostShown = 64 * 1024;
const lastWordsMs = 500;

/**
 * Runs a command of the user's by the shell, once, with text on its standard input; what it says goes to `say`. After the time limit it and all that it
 * started are ended.
 */
export function runCommand(
  command: string,
  input: string,
  limitMs: number,
  say: (text: string) => void,
): Promise<CommandEnd> {
  return new Promise((resolve) => {
    // A group of its own, where the system has groups: a limit that ended the shell alone would leave what the shell waits for.
    const grouped = process.platform !== 'win32';
    const child = spawn(command, { shell: true, detached: grouped, stdio: ['pipe', 'pipe', 'pipe'] });
    let overdue = false;
    const end = (): void => {
      overdue = true;
      try {
        if (grouped && child.pid !== undefined) process.kill(-child.pid, 'SIGKILL');
        else child.kill('SIGKILL');
      } catch {
        // It has just ended by itself.
      }
    };
    const timer = setTimeout(end, limitMs);
    let shown = 0;
    for (const stream of [child.stdout, child.stderr])
      stream.setEncoding('utf8').on('data', (text: string) => {
        if (shown < mostShown) say(text.slice(0, mostShown - shown));
        shown += text.length;
      });
    // Who does not read what changed may close the pipe.
    child.stdin.on('error', () => {});
    child.stdin.end(input);
    const settle = (result: CommandEnd): void => {
      clearTimeout(timer);
      for (const stream of child.stdio) stream?.destroy();
      resolve(result);
    };
    child.on('error', (error) => settle({ stopped: `could not be started: ${error.message}` }));
    child.on('exit', (code, signal) => {
      const result: CommandEnd = overdue
        ? { stopped: `was ended after ${limitMs / 1000} s` }
        : code === null
          ? { stopped: `was ended by ${signal}` }
          : { code };
      // What it said last is on its way; what it left running in the background may hold the pipes for ever.
      const waiting = setTimeout(() => settle(result), lastWordsMs);
      child.on('close', () => {
        clearTimeout(waiting);
        settle(result);
      });
    });
  });
}
