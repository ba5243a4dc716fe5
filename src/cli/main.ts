import yargs from 'yargs';
import pkg from '../../package.json' with { type: 'json' };
import { nearestName } from '../intake/nearestName.ts';
import { severities } from '../verdict/finding.ts';
import { printable } from '../writers/shown.ts';
import { auditCommand, layoutOf, type Surroundings } from './auditCommand.ts';
import { convertCommand, writtenEndings } from './convertCommand.ts';
import { explanation } from './explanation.ts';
import { lightenCommand, plainWithin } from './lightenCommand.ts';
import { UsageFault } from './usageFault.ts';

const usageStatus = 2;
const defectStatus = 70;

const options = [
  'format',
  'output',
  'spec',
  'block-at',
  'only',
  'jobs',
  'profiles',
  'scan',
  'stage',
  'no-cache',
  'to',
  'within',
  'lower-degree',
  'help',
  'version',
];

/** The parser's messages that need our words, and those words. */
const messages: readonly (readonly [RegExp, (...parts: string[]) => string])[] = [
  [
    /^Missing required argument: to/,
    () => `Say what to convert to: --to ${writtenEndings.join(', --to ')}.`,
  ],
  [/^Not enough arguments following: (.*)/, (option) => `--${option} needs a value.`],
  [/^Did you mean (.*)\?/, (word) => `There is no such command. Did you mean ${word}?`],
  [/^Unknown command: (.*)/, (word) => `There is no command "${word}".`],
  [
    /^Unknown arguments?: ([^,]*)/,
    (option) => {
      const nearest = nearestName(option, options);
      return nearest
        ? `There is no option --${option}. Did you mean --${nearest}?`
        : `"${option}" is not an option of this command.`;
    },
  ],
  [
    /Argument: (.*), Given: (.*), Choices: (.*)/,
    (option, given, choices) => `--${option} cannot be ${given}: it takes one of ${choices}.`,
  ],
];

/** What a command without its argument is told. */
const missing: Readonly<Record<string, string>> = {
  audit: 'Say what to audit: a file, a folder or a pattern ("*.igs").',
  convert: 'Say which file to convert.',
  lighten: 'Say which file to lighten.',
};

/** What is wrong with a call, from what the parser says of it. */
function callFault(message: string, command: string): UsageFault {
  if (message.startsWith('Not enough non-option'))
    return new UsageFault(`${missing[command] ?? message} See "hullsight --help".`);
  for (const [pattern, words] of messages) {
    const match = pattern.exec(message);
    if (match) return new UsageFault(`${words(...match.slice(1))} See "hullsight --help".`);
  }
  return new UsageFault(`${message.replace(/\s+/g, ' ')} See "hullsight --help".`);
}

function reported(error: unknown): number {
  if (error instanceof UsageFault) {
    process.stderr.write(`hullsight: ${printable(error.message)}\n`);
    return usageStatus;
  }
  process.stderr.write(
    `hullsight: a defect in the program, not in your files: ${error instanceof Error ? error.stack : String(error)}\n`,
  );
  return defectStatus;
}

function refuseTwice(asked: Readonly<Record<string, unknown>>): void {
  const twice = options.find((option) => option !== 'scan' && Array.isArray(asked[option]));
  if (twice) throw new UsageFault(`--${twice} is given more than once. Give it once.`);
}

const surroundings = (workerPath: string): Surroundings => ({
  tool: pkg.version,
  now: new Date(),
  workerPath,
  out: process.stdout,
  err: process.stderr,
  environment: process.env,
});

/** The command line. `here` is the folder of the running file; a worker bundle lies beside it. */
export async function main(
  words: readonly string[],
  here: string,
  workerPath: string,
): Promise<void> {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    // A reader that closed its end of the pipe has seen what it wanted.
    if (error.code === 'EPIPE') return;
    process.stderr.write(`hullsight: the verdict cannot be written (${error.code}).\n`);
    // Not process.exitCode: the run sets that when it ends.
    process.exit(usageStatus);
  });
  const parser = yargs([...words])
    .scriptName('hullsight')
    .usage(
      '$0 <command>\n\nSights along the control nets of surface files and says which point is off.',
    )
    .command(
      'audit <paths..>',
      'judge surface files, folders or globs (IGES, STEP, VDA-FS, *.net.json; scans are listed)',
      (command) =>
        command
          .positional('paths', { type: 'string', demandOption: true })
          .option('format', {
            choices: ['text', 'json'] as const,
            requiresArg: true,
            describe: 'form of the verdict (default text)',
          })
          .option('output', {
            type: 'string',
            requiresArg: true,
            describe: 'write the verdict to this file too (*.json: as JSON)',
          })
          .option('spec', {
            type: 'string',
            requiresArg: true,
            describe: "the job's own limits (default: hullsight.json with the files)",
          })
          .option('block-at', {
            choices: severities,
            requiresArg: true,
            describe: 'exit with 1 from this severity on (default moderate)',
          })
          .option('only', {
            type: 'string',
            requiresArg: true,
            describe: 'judge by this rule alone',
          })
          .option('scan', {
            type: 'string',
            array: true,
            nargs: 1,
            requiresArg: true,
            describe: 'judge by this scan too (STL, PLY, OBJ); may be given several times',
          })
          .option('stage', {
            type: 'string',
            requiresArg: true,
            describe: "judge by this of the spec's stages (default: its last)",
          })
          .option('no-cache', {
            type: 'boolean',
            describe: 'neither keep a large scan, made ready, beside it nor use what is kept',
          })
          .option('jobs', {
            type: 'number',
            requiresArg: true,
            describe: 'workers (default: by files and cores)',
          })
          .option('profiles', {
            type: 'boolean',
            describe: 'add legs, turning and second differences of each row and column to the JSON',
          })
          .epilogue(
            'Exit status: 0 within limits, 1 findings at or above --block-at, 2 a file or the call is faulty.',
          ),
      async (asked) => {
        refuseTwice(asked);
        process.exitCode = await auditCommand(
          {
            // A variadic positional is an array, whatever its type says.
            paths: [asked.paths].flat(),
            format: asked.format,
            output: asked.output,
            spec: asked.spec,
            blockAt: asked.blockAt,
            only: asked.only,
            jobs: asked.jobs,
            profiles: asked.profiles,
            scan: asked.scan ?? [],
            stage: asked.stage,
            cache: !asked['no-cache'],
          },
          surroundings(workerPath),
        );
      },
    )
    .command(
      'convert <file>',
      'write the surfaces of a file as IGES, STEP or *.net.json',
      (command) =>
        command
          .positional('file', { type: 'string', demandOption: true })
          .option('to', {
            choices: writtenEndings,
            demandOption: true,
            requiresArg: true,
            describe: 'what to write: IGES 5.3, STEP AP242 or control nets as JSON',
          })
          .option('output', {
            type: 'string',
            requiresArg: true,
            describe: 'the file to write (default: beside FILE, with the new ending)',
          })
          .epilogue(
            'Nets, names, units, trims and groups go over; what else the file holds is counted and told. A file that is in the format already is copied byte for byte. No file is ever written over.\n\nExit status: 0 all was read, 2 something could not be read (the rest is written all the same), or the call is faulty.',
          ),
      (asked) => {
        refuseTwice(asked);
        process.exitCode = convertCommand(
          { file: asked.file, to: asked.to, output: asked.output },
          surroundings(workerPath),
        );
      },
    )
    .command(
      'lighten <file>',
      'write a copy whose panels and free curves have no more points than their shape needs',
      (command) =>
        command
          .positional('file', { type: 'string', demandOption: true })
          .option('within', {
            type: 'number',
            requiresArg: true,
            describe: `farthest that a lighter build may depart, mm (default ${plainWithin})`,
          })
          .option('lower-degree', {
            type: 'boolean',
            describe: 'lower degrees of five or less for it too, not only take out spans',
          })
          .option('output', {
            type: 'string',
            requiresArg: true,
            describe: 'the file to write (default: beside FILE, with -light in its name)',
          })
          .epilogue(
            'IGES, STEP and *.net.json. Corners, domains and trims in the parameter plane stay; borders move by up to what is told. All that is not built anew stays byte for byte. No file is ever written over.\n\nExit status: 0 all was read and written, 2 something could not be, or the call is faulty.',
          ),
      (asked) => {
        refuseTwice(asked);
        process.exitCode = lightenCommand(
          {
            file: asked.file,
            within: asked.within,
            lowerDegree: asked['lower-degree'],
            output: asked.output,
          },
          surroundings(workerPath),
        );
      },
    )
    .command(
      'explain [rule]',
      'list the rules, or tell what one measures, its limits and how to mend',
      (command) => command.positional('rule', { type: 'string' }),
      ({ rule }) => {
        const { width } = layoutOf({ out: process.stdout, environment: process.env });
        process.stdout.write(explanation(rule, here, width));
      },
    )
    .demandCommand(1, 'Say what to do: audit, convert, lighten or explain.')
    // --no-cache is an option of that name
    .parserConfiguration({ 'boolean-negation': false })
    .strict()
    .recommendCommands()
    .version(pkg.version)
    .help()
    .locale('en')
    .wrap(80)
    .exitProcess(false)
    .fail((message, error) => {
      // The parser's own errors carry a message only; any other error is a run that failed.
      throw error && error.name !== 'YError'
        ? error
        : callFault(message ?? error?.message, words[0] ?? '');
    });
  try {
    await parser.parseAsync();
  } catch (error) {
    process.exitCode = reported(error);
  }
}
