import { createHash } from 'node:crypto';
import odds from '../../../rules/learned/odds.json' with { type: 'json' };
import learned from '../../../rules/learned/smooth-spectra.json' with { type: 'json' };
import type { LearnedProfiles, SpectrumTables } from './spectrumTables.ts';

/** Profiles as they are stored: a byte a term, byte * step + least is the logarithm. */
type StoredProfiles = (typeof learned)['inPlane'];

function profiles({ count, logSquares, step, least, logWeights }: StoredProfiles): LearnedProfiles {
  const bytes = Buffer.from(logSquares, 'base64');
  return {
    count,
    logSquares: Float64Array.from(bytes, (byte) => byte * step + least),
    logWeights: Float64Array.from(logWeights),
  };
}

let read: SpectrumTables | null = null;

/** What `npm run learn:locator` learned from smooth panels, read when it is first asked for. */
export const learnedSpectra = (): SpectrumTables =>
  (read ??= {
    inPlane: profiles(learned.inPlane),
    normal: profiles(learned.normal),
    temperaments: Float64Array.from(learned.temperaments.flat()),
    temperamentWeights: Float64Array.from(learned.temperamentWeights),
  });

/** SHA-256 of all that was learned. */
export const learnedChecksum = (): string =>
  createHash('sha256')
    .update(JSON.stringify([learned, odds]))
    .digest('hex');
