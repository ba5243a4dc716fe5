import { anySpot, families, juttingNet, unevenNet } from '../../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import { learnedSpectra } from '../../../src/measure/locator/learnedSpectra.ts';
import { panelModel, type PanelModel } from '../../../src/measure/locator/panelModel.ts';

/** The model of a seeded panel of any kind with one point 2 mm out, of 0.02 mm unevenness. */
export function anyModel(seed: number): PanelModel {
  const random = seededRandom(seed);
  const names = Object.keys(families);
  const fair = unevenNet(families[names[random.index(names.length)]](random), random, 0.02);
  const { net } = juttingNet(fair, anySpot(fair, random), 2);
  return panelModel(net, learnedSpectra(), null, false);
}
