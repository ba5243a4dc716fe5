import { basename, dirname, join } from 'node:path';
import { lightenedFile } from '../lighten.ts';
import { surplusBuild } from '../rules/surplus-build.ts';
import { lightenedText } from '../writers/lightenedText.ts';
import { layoutOf, type Surroundings } from './auditCommand.ts';
import { listedPath } from './listedFiles.ts';
import { nameParts, refusePattern, refuseTaken } from './newFile.ts';
import { openedFile } from './openedFile.ts';
import { UsageFault } from './usageFault.ts';
import { writtenFile } from './writtenFile.ts';

/** mm: what the rule allows a visible panel. */
export const plainWithin = surplusBuild.data.floors!['deviation'].A.value;

export interface LightenArguments {
  readonly file: string;
  readonly within: number | undefined;
  readonly lowerDegree: boolean | undefined;
  readonly output: string | undefined;
}

function outputPath({ file, output }: LightenArguments): string {
  const { stem, ending } = nameParts(basename(file));
  const path = output ?? join(dirname(file), `${stem}-light${ending}`);
  refuseTaken(path, file, 'lighten');
  return path;
}

/**
 * Writes a copy of one file with its panels and free curves built more lightly, and says what that costs.
 * Exit status 0, 2 where something could not be read or built anew.
 */
export function lightenCommand(asked: LightenArguments, surroundings: Surroundings): number {
  refusePattern(asked.file, 'lighten');
  const within = asked.within ?? plainWithin;
  if (!(within > 0 && within < Infinity))
    throw new UsageFault('--within takes a distance in millimetres, more than 0.');
  const path = outputPath(asked);
  const [listed] = listedPath(asked.file);
  const order = { within, lowerDegree: asked.lowerDegree ?? false };
  const lightened = openedFile({ ...listed, path: asked.file }, 0, (source) => {
    if ('scan' in source)
      throw new UsageFault(`${asked.file} is a scan: it has no surfaces that could be lighter.`);
    return lightenedFile(source, order);
  });
  if (lightened.bytes) writtenFile(path, lightened.bytes);
  surroundings.out.write(lightenedText(lightened, path, layoutOf(surroundings).width));
  const { panels, curves, faults, refused, isWritten } = lightened;
  const isDone =
    panels.length + curves.length > 0 &&
    faults.length === 0 &&
    refused.length === 0 &&
    (isWritten || panels.every(({ build }) => build === null));
  return isDone ? 0 : 2;
}
