import type { Command } from 'commander';
import { optionValues, valuesOf } from './completion.ts';

/** Refuses an address where a folder or a file is asked for, before anything is read or written: `s3://dam` would else be a folder of that name. */
export function refuseAddresses(command: Command): void {
  const given = [
    ...command.registeredArguments.map(
      (argument, i) => [valuesOf(argument.name(), undefined), command.processedArgs[i]] as const,
    ),
    ...command.options.map(
      (option) => [optionValues(option), command.getOptionValue(option.attributeName())] as const,
    ),
  ];
  for (const [kind, value] of given) {
    if (kind !== 'folder' && kind !== 'file') continue;
    const address = [value].flat().find((v) => typeof v === 'string' && /^[a-z][a-z0-9+.-]*:\/\//i.test(v));
    if (address !== undefined)
      command.error(
        `error: '${String(address)}' is an address, and a ${kind} on a disk is asked for.\nA store in object storage is named by --store-at, and others read it there in place (docs/store.md). Sites are brought there by the tool of the storage (docs/hosting.md).`,
        { exitCode: 2 },
      );
  }
}
