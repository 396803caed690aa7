import type { Argument, Command, Option } from 'commander';

export const shells = ['bash', 'zsh', 'fish'] as const;
export type Shell = (typeof shells)[number];

export const completionDetails = `Prints a script for the shell; load it where the shell starts:
  bash  source <(stillmark completion bash)                                 in ~/.bashrc
  zsh   source <(stillmark completion zsh), after compinit                  in ~/.zshrc
  fish  stillmark completion fish > ~/.config/fish/completions/stillmark.fish
The script knows the commands of this version, and runs nothing while it completes.`;

/** What may stand at a place of a command line. */
type Values = { readonly words: readonly string[] } | 'folder' | 'file' | 'anything';

interface Completed {
  readonly name: string;
  readonly summary: string;
  readonly options: readonly {
    readonly flags: readonly string[];
    readonly description: string;
    /** Undefined of a flag without a value. */
    readonly value: Values | undefined;
  }[];
  readonly args: readonly { readonly name: string; readonly values: Values; readonly variadic: boolean }[];
}

/** By the names that the help gives to values: `<dir>`, `<file>`. */
export function valuesOf(name: string, choices: readonly string[] | undefined): Values {
  if (choices) return { words: choices };
  if (['dir', 'project', 'site'].includes(name)) return 'folder';
  return name === 'file' ? 'file' : 'anything';
}

/** Undefined of a flag without a value. */
export function optionValues(option: Option): Values | undefined {
  return option.required || option.optional
    ? valuesOf(/<([^>]*)>/.exec(option.flags)?.[1] ?? '', option.argChoices)
    : undefined;
}

function describe(program: Command): Completed[] {
  const help = program.createHelp();
  const commands = help.visibleCommands(program);
  return commands.map((command) => ({
    name: command.name(),
    summary: help.subcommandDescription(command),
    options: help.visibleOptions(command).map((option: Option) => ({
      flags: [option.short, option.long].filter((flag) => flag !== undefined),
      description: help.optionDescription(option),
      value: optionValues(option),
    })),
    args: command.registeredArguments.map((argument: Argument) => ({
      name: argument.name(),
      values:
        command.name() === 'help'
          ? { words: commands.map((c) => c.name()) }
          : valuesOf(argument.name(), argument.argChoices),
      variadic: argument.variadic,
    })),
  }));
}

/** The completion script of a program for a shell, from its commands, their options and arguments. */
export function completionScript(program: Command, shell: Shell): string {
  const commands = describe(program);
  return { bash, zsh, fish }[shell](commands);
}

/** In single quotes, for all three shells. */
const quoted = (text: string): string => `'${text.replaceAll("'", `'\\''`)}'`;
const words = (list: readonly string[]): string => quoted(list.join(' '));

/** Of values in bash: what fills COMPREPLY. */
function inBash(values: Values): string {
  if (values === 'folder') return '_stillmark_paths -d; ';
  if (values === 'file') return '_stillmark_paths -f; ';
  return values === 'anything' ? '' : `_stillmark_words ${words(values.words)}; `;
}

/** The patterns of a `case` in bash with what each does, patterns that do the same in one line. */
function inCases(cases: readonly (readonly [pattern: string, work: string])[]): string {
  const works = [...new Set(cases.map(([, work]) => work))];
  return works
    .map((work) => {
      const patterns = cases.flatMap(([pattern, its]) => (its === work ? [pattern] : []));
      return `      ${patterns.join('|')}) ${work};;\n`;
    })
    .join('');
}

// Only what bash 3.2 knows, and none of the functions that the package bash-completion brings.
function bash(commands: readonly Completed[]): string {
  const cases = commands.map(({ name, options, args }) => {
    const takes = options.flatMap(({ flags, value }) => (value === undefined ? [] : flags));
    const valued = options.flatMap(({ flags, value }) =>
      value === undefined ? [] : flags.map((flag) => [flag, `${inBash(value)}return `] as const),
    );
    const at = args.map(
      ({ values, variadic }, i) => [variadic ? '*' : String(i + 1), inBash(values)] as const,
    );
    return `    ${name})
      case $previous in
${inCases(valued)}      esac
      case $current in -*) _stillmark_words ${words(options.flatMap(({ flags }) => flags))}; return ;; esac
      _stillmark_position ${words(takes)}
      case $position in
${inCases(at)}      esac
      ;;`;
  });
  return `# Completion of stillmark for bash.
_stillmark_words() {
  local word
  while IFS= read -r word; do COMPREPLY+=("$word"); done < <(compgen -W "$1" -- "$current")
}
_stillmark_paths() {
  local path
  compopt -o filenames 2>/dev/null
  while IFS= read -r path; do COMPREPLY+=("$path"); done < <(compgen "$1" -- "$current")
}
# How many arguments stand before the word, less options and their values.
_stillmark_position() {
  local i skip='' word
  position=1
  for ((i = 2; i < COMP_CWORD; i++)); do
    word=\${COMP_WORDS[i]}
    if [[ -n $skip ]]; then skip=''; [[ $word == = ]] && skip=1; continue; fi
    case $word in
      -*) [[ " $1 " == *" $word "* ]] && skip=1 ;;
      *) position=$((position + 1)) ;;
    esac
  done
}
_stillmark() {
  local current=\${COMP_WORDS[COMP_CWORD]} previous=\${COMP_WORDS[COMP_CWORD - 1]} position
  COMPREPLY=()
  # \`--option=value\` comes as three words.
  if [[ $current == = ]]; then current=''; elif [[ $previous == = ]]; then previous=\${COMP_WORDS[COMP_CWORD - 2]}; fi
  if ((COMP_CWORD == 1)); then
    _stillmark_words ${words([...commands.map(({ name }) => name), '--version', '--help'])}
    return
  fi
  case \${COMP_WORDS[1]} in
${cases.join('\n')}
  esac
}
complete -F _stillmark stillmark
`;
}

/** In a specification of zsh's _arguments: brackets and colons have a meaning. */
const spec = (text: string): string => text.replace(/[[\]:\\]/g, (c) => `\\${c}`);

function inZsh(values: Values): string {
  if (values === 'folder') return '_files -/';
  if (values === 'file') return '_files';
  return values === 'anything' ? ' ' : `(${values.words.join(' ')})`;
}

function zsh(commands: readonly Completed[]): string {
  const cases = commands.map(({ name, options, args }) => {
    const specs = [
      ...options.map(({ flags, description, value }) => {
        const body = `[${spec(description)}]${value === undefined ? '' : `:value:${inZsh(value)}`}`;
        return flags.length > 1
          ? `'(${flags.join(' ')})'{${flags.join(',')}}${quoted(body)}`
          : quoted(`${flags[0]}${body}`);
      }),
      ...args.map(({ name: arg, values, variadic }, i) =>
        quoted(`${variadic ? '*' : i + 1}:${spec(arg)}:${inZsh(values)}`),
      ),
    ];
    return `    ${name})
      _arguments \\
        ${specs.join(' \\\n        ')}
      ;;`;
  });
  const list = commands.map(({ name, summary }) => quoted(`${name}:${spec(summary)}`));
  return `#compdef stillmark
# Completion of stillmark for zsh.
_stillmark() {
  local -a commands
  commands=(
    ${list.join('\n    ')}
  )
  if ((CURRENT == 2)); then
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  ((CURRENT--))
  case $command in
${cases.join('\n')}
  esac
}
# Sourced, or loaded from a folder of $fpath at the first use.
if [[ $funcstack[1] == _stillmark ]]; then _stillmark "$@"; else compdef _stillmark stillmark; fi
`;
}

function inFish(values: Values): string {
  if (values === 'folder') return "-x -a '(__fish_complete_directories)'";
  if (values === 'file') return '-r -F';
  return values === 'anything' ? '-x' : `-x -a ${words(values.words)}`;
}

function fish(commands: readonly Completed[]): string {
  const lines = ['# Completion of stillmark for fish.', 'complete -c stillmark -f'];
  for (const { name, summary, options, args } of commands) {
    lines.push(`complete -c stillmark -n __fish_use_subcommand -a ${name} -d ${quoted(summary)}`);
    const within = `complete -c stillmark -n '__fish_seen_subcommand_from ${name}'`;
    for (const { flags, description, value } of options) {
      const names = flags.map((flag) =>
        flag.startsWith('--') ? `-l ${flag.slice(2)}` : `-s ${flag.slice(1)}`,
      );
      lines.push(
        `${within} ${names.join(' ')}${value === undefined ? '' : ` ${inFish(value)}`} -d ${quoted(description)}`,
      );
    }
    // Fish does not count arguments: what any of them may be is offered.
    for (const values of new Set(args.map((arg) => arg.values)))
      if (values === 'file') lines.push(`${within} -F`);
      else if (values === 'folder') lines.push(`${within} -a '(__fish_complete_directories)'`);
      else if (values !== 'anything') lines.push(`${within} -a ${words(values.words)}`);
  }
  return `${lines.join('\n')}\n`;
}
