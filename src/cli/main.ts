import yargs from 'yargs';
import pkg from '../../package.json' with { type: 'json' };
import { nearestName } from '../intake/nearestName.ts';
import { severities } from '../verdict/finding.ts';
import { printable } from '../writers/shown.ts';
import { auditCommand, layoutOf } from './auditCommand.ts';
import { explanation } from './explanation.ts';
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
  'help',
  'version',
];

/** The parser's messages that need our words, and those words. */
const messages: readonly (readonly [RegExp, (...parts: string[]) => string])[] = [
  [/^Not enough non-option/, () => 'Say what to audit: a file, a folder or a pattern ("*.igs").'],
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

/** What is wrong with a call, from what the parser says of it. */
function callFault(message: string): UsageFault {
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
        const twice = options.find((option) => Array.isArray(asked[option]));
        if (twice) throw new UsageFault(`--${twice} is given more than once. Give it once.`);
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
          },
          {
            tool: pkg.version,
            now: new Date(),
            workerPath,
            out: process.stdout,
            err: process.stderr,
            environment: process.env,
          },
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
    .demandCommand(1, 'Say what to do: audit or explain.')
    .strict()
    .recommendCommands()
    .version(pkg.version)
    .help()
    .locale('en')
    .wrap(80)
    .exitProcess(false)
    .fail((message, error) => {
      // The parser's own errors carry a message only; any other error is a run that failed.
      throw error && error.name !== 'YError' ? error : callFault(message ?? error?.message);
    });
  try {
    await parser.parseAsync();
  } catch (error) {
    process.exitCode = reported(error);
  }
}
