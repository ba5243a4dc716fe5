import { basename, dirname, join } from 'node:path';
import { convertedFile } from '../convert.ts';
import { conversionText } from '../writers/conversionText.ts';
import type { WrittenFormat } from '../writers/surfaces/changedFile.ts';
import { layoutOf, type Surroundings } from './auditCommand.ts';
import { listedPath } from './listedFiles.ts';
import { nameParts, refusePattern, refuseTaken } from './newFile.ts';
import { openedFile } from './openedFile.ts';
import { UsageFault } from './usageFault.ts';
import { writtenFile } from './writtenFile.ts';

/** What --to takes: the end of the name a file of the format gets. */
export const writtenEndings = ['igs', 'stp', 'net.json'] as const;
export type WrittenEnding = (typeof writtenEndings)[number];

const formats: Readonly<Record<WrittenEnding, WrittenFormat>> = {
  igs: 'iges',
  stp: 'step',
  'net.json': 'net-json',
};

export interface ConvertArguments {
  readonly file: string;
  readonly to: WrittenEnding;
  readonly output: string | undefined;
}

/** Where the new file goes; refused where that is the file that is read, or anything else is there. */
function outputPath({ file, to, output }: ConvertArguments): string {
  const path = output ?? join(dirname(file), `${nameParts(basename(file)).stem}.${to}`);
  refuseTaken(path, file, 'convert');
  return path;
}

/**
 * Writes the surfaces of one file in another format and says what became of them. Exit status 0 where
 * all surfaces of kinds that are read went over, 2 where something could not be read.
 */
export function convertCommand(asked: ConvertArguments, surroundings: Surroundings): number {
  refusePattern(asked.file, 'convert');
  const path = outputPath(asked);
  const [listed] = listedPath(asked.file);
  const { tool, now, out } = surroundings;
  const header = { name: basename(path), tool, at: now };
  const conversion = openedFile({ ...listed, path: asked.file }, 0, (source) => {
    if ('scan' in source)
      throw new UsageFault(`${asked.file} is a scan: it has no surfaces that could be written.`);
    return convertedFile(source, formats[asked.to], header);
  });
  if (conversion.bytes) writtenFile(path, conversion.bytes);
  out.write(conversionText(conversion, path, layoutOf(surroundings).width));
  return conversion.bytes === null || conversion.faults.length > 0 ? 2 : 0;
}
