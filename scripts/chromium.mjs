// Finds a Chromium for the browser tests, or installs one through the system's package manager.
import { spawnSync } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';

const names = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];
const usual = [
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

function isProgram(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

export function findChromium() {
  const named = process.env.CHROMIUM_PATH;
  if (named) return isProgram(named) ? named : undefined;
  const folders = (process.env.PATH ?? '').split(delimiter);
  return [...folders.flatMap((folder) => names.map((name) => join(folder, name))), ...usual].find(isProgram);
}

const managers = [
  [
    'apt-get',
    [
      ['apt-get', 'update', '-qq'],
      ['apt-get', 'install', '-y', '-qq', 'chromium'],
    ],
  ],
  ['dnf', [['dnf', 'install', '-y', '-q', 'chromium']]],
  ['pacman', [['pacman', '-Sy', '--noconfirm', 'chromium']]],
  ['apk', [['apk', 'add', '--quiet', 'chromium']]],
  ['zypper', [['zypper', '--non-interactive', 'install', 'chromium']]],
  ['brew', [['brew', 'install', '--cask', 'chromium']]],
];

/** Path of a Chromium; ends the process with a clear word where there is none and none can be installed. */
export function ensureChromium() {
  const found = findChromium();
  if (found) return found;
  const has = (program) => spawnSync(program, ['--version'], { stdio: 'ignore' }).error === undefined;
  /** @type {[string, string[][]] | undefined} */
  const manager = managers.find(([program]) => has(program));
  if (manager && !process.env.CHROMIUM_PATH) {
    const asRoot = process.getuid?.() === 0 || manager[0] === 'brew' ? [] : ['sudo', '-n'];
    console.error(`Installing Chromium for the browser tests through ${manager[0]} …`);
    for (const command of manager[1]) {
      const [program, ...args] = [...asRoot, ...command];
      spawnSync(program, args, {
        stdio: ['ignore', 'ignore', 'inherit'],
        env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
      });
    }
    const installed = findChromium();
    if (installed) return installed;
  }
  console.error(
    'The browser tests need Chromium or Chrome, and none was found or could be installed.\nInstall one, or set CHROMIUM_PATH to the program.',
  );
  process.exit(1);
}
