import { effect } from '@preact/signals';
import type { Recording } from '@tallybay/contracts';
import { useEffect, useMemo } from 'preact/hooks';
import { addressOf, query, setQuery } from '../../app/location.js';
import type { PageProps } from '../../app/places.js';
import { useResource } from '../../data/resource.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { linkOfView, viewFromLink } from './address-view.js';
import { Desk } from './desk.js';
import { EpisodeList } from './episode-list.js';
import { MarkerList } from './marker-list.js';
import { Plots } from './plots.js';
import './recording.css';
import { RecordingFacts } from './recording-facts.js';
import { ReplayBar } from './replay-bar.js';
import { SignalPicker } from './signal-picker.js';
import { SignalTable } from './signal-table.js';
import { KeyList, SpanBar, ViewBar } from './view-bar.js';

/** One log at full rate. */
export function RecordingPage({ at }: PageProps) {
  const upload = at.upload ?? '';
  const recording = useResource<Recording>(`/v1/recordings/${encodeURIComponent(upload)}`);
  return (
    <>
      {recording.state !== 'ready' && <PageTitle text={t.recording.title} />}
      <Loaded
        of={recording}
        what={t.recording.what}
        empty={{
          when: ({ from, signals }) => from === null || signals.length === 0,
          title: t.recording.emptyTitle,
          children: <p>{t.recording.emptyAdvice}</p>,
        }}
      >
        {(data) => <OpenRecording key={data.upload} recording={data} />}
      </Loaded>
    </>
  );
}

/** The address follows the view a moment after it has come to rest. */
const ADDRESS_AFTER_MS = 350;
/** Values of the signals that are not drawn are fetched once the cursor has come to rest. */
const OTHERS_AFTER_MS = 300;
/** Faster replays pass a minute in less time than fetching its rows takes: values are then those of columns. */
const EXACT_UP_TO_SPEED = 10;

function OpenRecording({ recording }: { recording: Recording }) {
  const desk = useMemo(() => {
    const made = new Desk(recording);
    made.model.apply(viewFromLink(query.peek(), recording, made.model.whole));
    return made;
  }, [recording]);
  const link = useAddress(desk);
  useFetching(desk);
  const { zone, model } = desk;
  return (
    <div class="recording">
      <PageTitle text={t.recording.titleOf(recording.vehicle, zone.date(model.whole.fromMs))}>
        <div class="actions">
          <a class="button" href={addressOf('/recordings', { vehicle: recording.vehicle })}>
            {t.recording.others(recording.vehicle)}
          </a>
        </div>
      </PageTitle>
      <RecordingFacts desk={desk} />
      <div class="bars">
        <ReplayBar desk={desk} />
        <ViewBar desk={desk} link={link} />
        <SpanBar desk={desk} />
      </div>
      <Plots desk={desk} />
      <SignalPicker desk={desk} />
      <KeyList />
      <div class="recording-lists">
        <SignalTable desk={desk} />
        <div class="stack">
          <MarkerList desk={desk} />
          <EpisodeList desk={desk} />
        </div>
      </div>
      <Caution text={t.recording.caution} />
    </div>
  );
}

/** Keeps address and view the same, whichever changes; answers the address of the view as it is now. */
function useAddress({ model, recording }: Desk): () => string {
  const write = () => setQuery(linkOfView(model.linked.peek(), recording, model.whole));
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined;
    let written = query.peek().toString();
    const stopWriting = effect(() => {
      model.linked.value;
      clearTimeout(timer);
      timer = setTimeout(() => {
        timer = undefined;
        write();
        written = query.peek().toString();
      }, ADDRESS_AFTER_MS);
    });
    // Back, forward, or a link within the page to another part of the same recording.
    const stopReading = effect(() => {
      const asked = query.value;
      if (asked.toString() === written || timer !== undefined) return;
      written = asked.toString();
      model.apply(viewFromLink(asked, recording, model.whole));
    });
    return () => {
      stopWriting();
      stopReading();
      clearTimeout(timer);
    };
  }, [model]);
  return () => {
    write();
    return window.location.href;
  };
}

/** Asks for what the screen and the cursor need. */
function useFetching({ model, recording }: Desk): void {
  useEffect(() => {
    const { source } = model;
    const all = recording.signals.filter(({ valid }) => valid > 0).map(({ signal }) => signal);
    let rest: ReturnType<typeof setTimeout> | undefined;
    const stops = [
      effect(() => {
        const widthPx = model.widthPx.value;
        if (widthPx > 0) source.want(model.shown.value, model.view.value, widthPx);
      }),
      effect(() => {
        const cursorMs = model.readMs.value;
        const shown = model.shown.value;
        // The plots come first: nothing else is asked for until they have been drawn.
        if (source.arrivals.value === 0) return;
        if (!model.playing.value || model.speed.value <= EXACT_UP_TO_SPEED) source.wantExact(shown, cursorMs);
        clearTimeout(rest);
        if (!model.playing.value) rest = setTimeout(() => source.wantExact(all, cursorMs), OTHERS_AFTER_MS);
      }),
    ];
    return () => {
      for (const stop of stops) stop();
      clearTimeout(rest);
      source.close();
    };
  }, [model]);
}
