import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Recording, readRecording, selectEvents } from '../../src/formats/index.ts';
import reference from './fixtures/realRecordings.json' with { type: 'json' };

// Reference values: realRecordings.py beside the fixture, which reads the same files with software that is not ours.
const dataFolder = new URL('../../../shared/data/', import.meta.url);
const read = (name: string): Recording => readRecording(name, readFileSync(new URL(name, dataFolder)));

describe('real recordings', () => {
  it.each(Object.entries(reference.edf))('%s agrees with an independent reader', (name, expected) => {
    const recording = read(name);
    const labels = expected.labels.filter((label) => !/^(Status|EDF Annotations)$/.test(label));
    expect(recording.channels.map((channel) => channel.label)).toEqual(labels);
    for (const { sampleRateHz, samplesUv, unit } of recording.channels) {
      expect([sampleRateHz, samplesUv.length, unit]).toEqual([expected.sampleRateHz, expected.sampleCount, 'µV']);
    }
    for (const { sample, values } of expected.samplesUv) {
      recording.channels.forEach((channel, c) => {
        // The other reader scales in another order: 1e-9 of the full range of 2^18 µV is its rounding.
        expect(Math.abs(channel.samplesUv[sample] - values[c])).toBeLessThan(3e-4 * 1e-6);
      });
    }
    const annotations = recording.events.filter((event) => event.source === 'annotation');
    expect(annotations.map((event) => event.label)).toEqual(expected.descriptions);
  });

  it.each(Object.entries(reference.statusRises))('%s: status events where a trigger bit turns on', (name, rises) => {
    const { events, channels } = read(name);
    const rateHz = channels[0].sampleRateHz;
    expect(events.map((event) => [event.timeS * rateHz, Number(event.label)])).toEqual(rises);
  });

  it('Newtest17-256.bdf is 60 s of 16 channels without a warning', () => {
    const { format, channels, warnings } = read('bdf/Newtest17-256.bdf');
    expect([format, channels.length, channels[0].samplesUv.length / 256, warnings]).toEqual(['bdf', 16, 60, []]);
  });

  it('S001R01.edf is read with one warning that names the fields a strict reader refuses', () => {
    const { format, warnings, events } = read('eeg-edf/S001R01.edf');
    expect(format).toBe('edf+');
    expect(warnings).toHaveLength(1);
    expect(warnings[0]).toMatch(/^EDF Annotations: .* dimension "-", prefiltering "HP:0Hz LP:0Hz N:0Hz"/);
    expect(events).toEqual([{ timeS: 0, durationS: 60.2, label: 'T0', source: 'annotation' }]);
  });

  it('test_edfann.edf holds 856 annotations and no signal', () => {
    const { events, channels, warnings } = read('eeg-edf/test_edfann.edf');
    expect([events.length, channels.length, warnings]).toEqual([
      856,
      0,
      ['the file holds annotations only, no signal'],
    ]);
    expect(events[2]).toEqual({ timeS: 33.43, durationS: 0, label: 'Lights off@@EEG F4-A1', source: 'annotation' });
  });

  it.each(Object.entries(reference.text))('%s: columns and tones', (name, expected) => {
    const recording = read(name);
    const { channels, missing, warnings } = recording;
    expect(channels.map((channel) => channel.label)).toEqual(expected.labels);
    expect(channels.map((channel) => channel.samplesUv[expected.sampleCount - 1])).toEqual(expected.lastRow);
    expect(new Set(channels.map((channel) => channel.sampleRateHz))).toEqual(new Set([256])); // stated by SOURCES.md
    expect(missing).toEqual([]);
    expect(warnings).toHaveLength(1); // packets of 12 samples come up to 47 ms late
    expect(warnings[0]).toContain('the time column is uneven');
    for (const [code, count] of Object.entries(expected.markerCounts)) {
      expect(selectEvents(recording, `Marker0=${code}`)).toHaveLength(count);
    }
    const targets = selectEvents(recording, 'Marker0=2').slice(0, 5);
    expect(targets.map((timeS) => timeS * 256)).toEqual(expected.firstTargets);
  });

  it('the six oddball runs hold 852 standard and 328 target tones together', () => {
    const runs = Object.keys(reference.text).map(read);
    const total = (selector: string): number => runs.reduce((sum, run) => sum + selectEvents(run, selector).length, 0);
    expect([total('Marker0=1'), total('Marker0=2')]).toEqual([852, 328]); // SOURCES.md of the data
  });

  it('EMG text: broken and absent lines keep their place in time', () => {
    const healthy = read('emg/emg_healthy.txt.gz');
    expect([healthy.channels[0].sampleRateHz, healthy.channels[0].samplesUv.length]).toEqual([4000, 50860]);
    expect(healthy.missing.map((span) => Math.round(span.startS * 4000))).toEqual([638, 41463]); // lines 639 and 41464
    expect(healthy.warnings[0]).toMatch(/^line 639 \(column-2\): .*2 are broken and 0 absent/);

    // Last time 27.6038 s, rounded up from 27.60375 s = 110415 × 0.25 ms: that many samples, 80 of them lost.
    const myopathy = read('emg/emg_myopathy.txt.gz');
    expect(myopathy.channels[0].samplesUv).toHaveLength(110415);
    const lost = myopathy.missing.reduce((sum, span) => sum + Math.round((span.endS - span.startS) * 4000), 0);
    expect(lost).toBe(2 + 1 + 77);
  });

  it('the unit given by the user scales text without units', () => {
    const name = 'emg/emg_healthy.txt.gz';
    const { channels } = readRecording(name, readFileSync(new URL(name, dataFolder)), { unit: 'mV' });
    expect(channels[0].samplesUv[0]).toBe(-0.0333 * 1000);
  });

  it('a file of another kind is refused in one line', () => {
    expect(() => read('ecg/scipy_ecg_360Hz_npz.dat')).toThrow(
      'must be EDF, BDF or delimited text, got other binary data',
    );
  });
});
