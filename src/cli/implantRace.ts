import type { PlayingNoise } from '../core/noise/noiseSource.ts';
import { responseKinds } from '../core/response/index.ts';
import { withOverrides } from '../core/scenario/resolve.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import { backgroundNoise } from '../core/session/background.ts';
import { implantScenario } from '../core/session/implant.ts';
import { selectChannels } from '../formats/index.ts';
import { numberOption, type ParsedArguments, UsageError } from './arguments.ts';
import { readRecordingFiles } from './recordingFiles.ts';

/** A known response in real background: a race with truth. */
export interface ImplantedRace {
  scenario: Scenario;
  background: (seed: string) => PlayingNoise;
}

/** Reads what is to be implanted where. @throws {UsageError} naming the option, the rule and the value */
export function openImplant(parsed: ParsedArguments): ImplantedRace {
  const foreign = ['events', 'polarity', 'rarefaction', 'window-ms', 'band-hz', 'analysis-ms', 'baseline'].find(
    (name) => parsed.values(name).length > 0,
  );
  if (foreign) throw new UsageError(`race: --${foreign} is for the recording's own events; with --implant use --set`);
  if (parsed.positionals.length > 0) {
    throw new UsageError(`race: takes a scenario or --implant, got both (${parsed.positionals[0]})`);
  }
  const kindText = parsed.values('implant')[0];
  const known = responseKinds.find(({ id }) => id === kindText && id !== 'none');
  if (!known) {
    const choices = responseKinds.map(({ id }) => id).filter((id) => id !== 'none');
    throw new UsageError(`--implant: must be one of ${choices.join(', ')}, got "${kindText}"`);
  }
  const sizeUv = numberOption('implant-uv', parsed.values('implant-uv')[0], 0.001, 10000) ?? null;
  const channelText = parsed.values('channel')[0];
  if (channelText === undefined) throw new UsageError('race: --implant needs --channel');

  const recordings = readRecordingFiles(parsed);
  const backgrounds = recordings.map((recording) => {
    const picked = selectChannels(recording, channelText);
    if (picked.length !== 1) throw new UsageError(`--channel: must be one channel with --implant, got ${channelText}`);
    const [{ samplesUv, sampleRateHz }] = picked;
    return { samplesUv, sampleRateHz, missing: recording.missing };
  });
  const seconds = numberOption('seconds', parsed.value('seconds'), 1, 7200);
  const targetNv = numberOption('target-nv', parsed.value('target-nv'), 1, 100000);
  const names = recordings.map(({ name }) => name).join(', ');
  const document = withOverrides(
    {
      id: 'implant',
      title: `${known.label} implanted into ${names}, channel ${channelText}`,
      story: 'The background is real, the response is known: so its size, noise and gain can be told.',
    },
    [
      ...parsed.values('set'),
      ...(seconds === undefined ? [] : [`session.durationS=${seconds}`]),
      ...(targetNv === undefined ? [] : [`session.targetNv=${targetNv}`]),
    ],
  );
  const scenario = implantScenario(backgrounds, { kind: known.id, sizeUv, document });
  return { scenario, background: (seed) => backgroundNoise(backgrounds, scenario, seed) };
}
