import { DEFAULT_PRESET, preset } from '../core/scenario/presets.ts';
import './elements/belt.ts';
import './elements/cautions.ts';
import './elements/drawer.ts';
import './elements/drive.ts';
import './elements/inspector.ts';
import './elements/keyList.ts';
import './elements/lane.ts';
import './elements/patient.ts';
import './elements/race.ts';
import './elements/takeAway.ts';
import { SweepLab } from './elements/lab.ts';
import { SweepReport } from './elements/report.ts';
import { startTheme } from './elements/theme.ts';
import { Bench } from './model/bench.ts';
import type { BenchPlace } from './model/benchPlace.ts';
import { unwrapLink } from './model/linkEnvelope.ts';
import { readScenarioLink } from './model/scenarioLink.ts';
import { painter } from './stage/painter.ts';
import { benchClient } from './worker/benchClient.ts';

startTheme(() => painter.invalidateAll());

const lab = new SweepLab();
let place: BenchPlace | null = null;
const bench = await openBench();
lab.bench = bench;
document.querySelector('#opening')?.remove();
document.body.prepend(lab);
const report = new SweepReport();
report.bench = bench;
lab.after(report);
addEventListener('hashchange', async () => {
  try {
    const linked = readScenarioLink(await unwrapLink(location.hash));
    bench.load(linked.document, linked.seed);
    if (!bench.sealHeld) bench.sealTruth(linked.sealed);
    bench.restore(linked.place, bench.state !== 'paused');
  } catch (error) {
    lab.showProblem(`Link: ${(error as Error).message}`);
  }
});
if (place) bench.restore(place);
else bench.restart();
void painter.start();
// The development server changes its files all the time: only a built lab is kept for visits without a network.
if (import.meta.env.PROD && 'serviceWorker' in navigator) {
  navigator.serviceWorker.register(new URL('serviceWorker.js', document.baseURI)).catch(() => {
    // A browser may forbid it (private windows): the lab then needs the network at each visit.
  });
}

/** The bench of the address; a link that does not hold is told, and the default patient comes instead. */
async function openBench(): Promise<Bench> {
  try {
    const linked = readScenarioLink(await unwrapLink(location.hash));
    const opened = new Bench(benchClient(), linked.document, linked.seed);
    opened.sealTruth(linked.sealed);
    place = linked.place;
    return opened;
  } catch (error) {
    lab.showProblem(`Link: ${(error as Error).message}. The default patient is on the bench instead.`);
    return new Bench(benchClient(), preset(DEFAULT_PRESET), '1');
  }
}
