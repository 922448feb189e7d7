// The live chart: drawn from columns that the server sends for what is in sight, moved
// and read out by keyboard, mouse or fingers. Without script, and until there is something
// to show, the drawing beside it stays.
(() => {
  const { column, value, axis, number } = window.chartWords;
  const marks = window.chartMarks;
  const LEAST_S = 600; // no closer than ten minutes
  const AHEAD_MS = 120; // what is asked for waits so long for the next turn of the wheel
  const NEAR_PX = 6; // an event this near the cursor is read out
  const TOLD = 3; // more lines than this are told one by one
  const NARROW_PX = 500;
  const LEAST_SIDE_PX = 62; // so wide is the side axis, or as wide as its widest word

  function look(path) {
    const style = getComputedStyle(path);
    const dash = style.strokeDasharray.match(/[\d.]+/g);
    return {
      stroke: style.stroke,
      width: parseFloat(style.strokeWidth),
      dash: dash ? dash.map(Number) : [],
      fill: style.stroke.replace(/^rgb\((.*)\)$/, "rgba($1, 0.22)"),
    };
  }

  class LiveChart {
    constructor(root) {
      this.root = root;
      this.part = (name) => root.querySelector(`[data-part="${name}"]`);
      const numbers = ["start", "end", "earliest", "latest"].map((n) => Number(root.dataset[n]));
      [this.home, this.bounds] = [numbers.slice(0, 2), numbers.slice(2)];
      this.view = this.home;
      this.hidden = new Set();
      this.told = 0;
      window.chartHands.listen(this);
      this.load();
    }

    // ---- what the server knows of the part in sight

    async load() {
      this.asking?.abort();
      this.asking = new AbortController();
      const address = new URL(this.root.dataset.url, window.location.href);
      const [start, end] = this.view.map(Math.round);
      for (const [name, told] of Object.entries({ start, end, width: this.plotWidth() }))
        address.searchParams.set(name, told);
      try {
        const answer = await fetch(address, { signal: this.asking.signal });
        // Whoever is signed out is sent to another page, where they sign in.
        if (answer.redirected) return this.warn("You are signed out. Sign in again to see the chart.");
        const data = await answer.json();
        if (data.error) this.warn(data.error);
        else this.show(data);
      } catch (trouble) {
        if (trouble.name !== "AbortError") this.warn("The chart could not be loaded: look again later.");
      }
    }

    loadSoon() {
      clearTimeout(this.soon);
      this.soon = setTimeout(() => this.load(), AHEAD_MS);
    }

    plotWidth() {
      const wide = this.part("plot").clientWidth || this.root.clientWidth;
      return Math.min(8000, Math.max(40, Math.round(wide)));
    }

    show(data) {
      const at = this.plot && this.cursorTime();
      this.data = data;
      this.root.dataset.on = "yes";
      this.part("screen").hidden = false;
      if (!this.plot) this.build();
      this.plot.batch(() => {
        this.plot.setData(this.aligned(), false);
        this.plot.setScale("x", { min: this.view[0], max: this.view[1] });
      });
      if (at != null) this.moveTo(this.indexAt(at));
      this.part("summary").textContent = data.summary;
      this.part("notes").replaceChildren(...data.notes.map((note) => item(note)));
      this.root.dataset.step = data.step;
    }

    aligned() {
      const { first, step, count, lines } = this.data;
      const times = Array.from({ length: count }, (_, n) => first + (n + 0.5) * step);
      return [times, ...lines.flatMap((line) => [line.high, line.low])];
    }

    // ---- the drawing

    build() {
      this.key();
      this.looks = new Map(this.data.lines.map((line) => [line.key, look(this.swatch(line.key))]));
      const host = this.part("plot");
      host.replaceChildren();
      this.plot = new window.uPlot(this.options(host), this.aligned(), host);
      window.chartHands.touch(this, this.plot.over);
    }

    rebuild() {
      if (!this.plot) return;
      this.plot.destroy();
      this.plot = null;
      this.show(this.data);
    }

    options(host) {
      return {
        width: host.clientWidth,
        height: host.clientWidth < NARROW_PX ? 300 : 380,
        padding: [12, this.room(host), 0, 0],
        legend: { show: false },
        tzDate: (at) => window.uPlot.tzDate(new Date(at * 1000), this.data.zone),
        cursor: { y: false, points: { show: false }, drag: { setScale: false, dist: 8 } },
        scales: { y: { range: (_, low, high) => this.height(low, high) } },
        series: [{}, ...this.data.lines.flatMap((line) => [this.edge(line), this.edge(line)])],
        bands: this.data.lines.map((line, n) => ({
          series: [2 * n + 1, 2 * n + 2],
          fill: this.looks.get(line.key).fill,
        })),
        axes: [this.axis(), this.side()],
        hooks: {
          drawClear: [(u) => (marks.nights(u, this.data), marks.bands(u, this.data))],
          draw: [(u) => this.over(u)],
          setSelect: [(u) => this.selected(u)],
          setCursor: [(u) => this.tell(u.cursor.idx)],
        },
      };
    }

    // Beside the plot: for names of lines, or half the last word of the axis.
    room(host) {
      if (this.data.lines.length < 2) return 44;
      const most = host.clientWidth < NARROW_PX ? 84 : 120;
      return Math.max(44, marks.roomFor(this.data.lines, most));
    }

    edge(line) {
      const { stroke, width, dash } = this.looks.get(line.key);
      return {
        stroke,
        width,
        dash,
        show: !this.hidden.has(line.key),
        gaps: (u, _series, _from, _to, gaps) => {
          const { min, max } = u.scales.x;
          const apart = (this.data.gap_after / (max - min)) * u.bbox.width + 1.5;
          return gaps.filter(([from, to]) => to - from > apart);
        },
        points: { show: false, size: 4, filter: (u, n) => alone(u.data[n]), fill: stroke },
      };
    }

    axis() {
      return {
        stroke: marks.token("--ink-soft"),
        grid: { stroke: marks.token("--line"), width: 1 },
        ticks: { stroke: marks.token("--ink"), width: 1 },
        font: "13px system-ui, sans-serif",
        space: 76,
        size: 36,
        values: (_, splits, _axis, _space, apart) => axis(this.data, splits, apart),
      };
    }

    side() {
      return {
        ...this.axis(),
        space: 40,
        size: (u, words, n, round) => this.sideSize(u, words, n, round),
        values: (_, splits, _axis, _space, apart) => {
          const decimals = [0, 1, 2].find((n) => isWhole(apart * 10 ** n)) ?? 3;
          return splits.map((one) => `${number(one, decimals)} ${this.data.unit}`);
        },
      };
    }

    // Measured anew for each scale: a word that is cut reads as another number.
    sideSize(u, words, n, round) {
      if (!words) return LEAST_SIDE_PX;
      const { font, ticks, gap, _size } = u.axes[n];
      if (round > 1) return _size;
      u.ctx.save();
      u.ctx.font = font[0];
      const widest = Math.max(0, ...words.map((word) => u.ctx.measureText(word).width));
      u.ctx.restore();
      const wide = Math.ceil(widest / devicePixelRatio) + ticks.size + gap;
      return Math.max(LEAST_SIDE_PX, wide);
    }

    height(low, high) {
      const ends = this.data.bands.flatMap((band) => [band.low, band.high]);
      const all = [...ends, low, high].filter((one) => one != null);
      if (!all.length) return [0, 1];
      const [least, most] = [Math.min(...all), Math.max(...all)];
      const room = (most - least) * 0.06 || 1;
      return [least - room, most + room];
    }

    over(u) {
      marks.hatches(u, this.data, (key) => !this.hidden.has(key));
      marks.bandNames(u, this.data);
      marks.events(u, this.data);
      if (this.data.lines.length > 1) marks.names(u, this.lines(), this.looks);
    }

    // ---- which lines: a list to choose from, each with its pattern and its value

    lines() {
      return this.data.lines.filter((line) => !this.hidden.has(line.key));
    }

    swatch(key) {
      return this.part("key").querySelector(`[data-key="${key}"] path`);
    }

    key() {
      if (this.part("key").children.length) return;
      const model = this.root.querySelector("template");
      for (const line of this.data.lines) {
        const entry = model.content.firstElementChild.cloneNode(true);
        entry.dataset.key = line.key;
        entry.querySelector("path").classList.add(`chart-line-${line.number}`);
        entry.querySelector("[data-name]").textContent = line.name;
        entry.querySelector("[data-place]").textContent = `${line.place}, ${line.accuracy}`;
        entry.querySelector("input").addEventListener("change", (event) => this.choose(line, event));
        this.part("key").append(entry);
      }
    }

    choose(line, event) {
      if (event.target.checked) this.hidden.delete(line.key);
      else this.hidden.add(line.key);
      const n = this.data.lines.findIndex((one) => one.key === line.key);
      for (const edge of [2 * n + 1, 2 * n + 2])
        this.plot.setSeries(edge, { show: event.target.checked });
      this.tell(this.plot.cursor.idx);
    }

    // ---- reading out

    tell(index) {
      if (!this.data || index == null || index < 0 || index >= this.data.count) return;
      for (const line of this.data.lines)
        this.swatch(line.key).closest("li").querySelector("output").textContent =
          value(line, index, this.data.unit);
      this.say(`${column(this.data, index)}: ${[...this.spoken(index), ...this.around(index)].join("; ")}.`);
    }

    spoken(index) {
      const lines = this.lines();
      const told = lines.length > TOLD ? [lines[this.told % lines.length]] : lines;
      const words = told.map(
        (line) => `${line.name}, ${line.place}, ${value(line, index, this.data.unit)}`
      );
      return lines.length > TOLD ? [`${words[0]} (up and down: another of ${lines.length})`] : words;
    }

    around(index) {
      const { first, step, events, asides } = this.data;
      const [from, to] = [first + index * step, first + (index + 1) * step];
      // What the chart knows of itself: asking the page would lay it out anew each time.
      const wide = this.plot.bbox.width / devicePixelRatio;
      const near = (NEAR_PX / wide) * (this.view[1] - this.view[0]);
      const happened = events.filter((one) => one.at >= from - near && one.at < to + near);
      const aside = asides.filter(
        (one) => !this.hidden.has(one.key) && one.start < to && one.end > from
      );
      return [
        ...new Set(happened.map((one) => one.word)),
        ...aside.map((one) => one.words.replace(/\.$/, "")),
      ];
    }

    say(text) {
      this.part("text").textContent = text;
    }

    // Said even where nothing could be shown yet.
    warn(text) {
      this.part("screen").hidden = false;
      this.say(text);
    }

    // ---- the cursor

    indexAt(second) {
      return Math.floor((second - this.data.first) / this.data.step);
    }

    cursorTime() {
      const index = this.plot.cursor.idx;
      return index == null ? null : this.data.first + (index + 0.5) * this.data.step;
    }

    inSight() {
      const last = this.indexAt(this.view[1] - 1);
      return [Math.max(0, this.indexAt(this.view[0])), Math.min(this.data.count - 1, last)];
    }

    moveTo(index) {
      const [first, last] = this.inSight();
      const n = Math.min(last, Math.max(first, index));
      const left = this.plot.valToPos(this.data.first + (n + 0.5) * this.data.step, "x");
      this.plot.setCursor({ left, top: this.plot.bbox.height / devicePixelRatio / 2 });
    }

    step(by) {
      const here = this.plot.cursor.idx;
      const [first, last] = this.inSight();
      if (here == null) return this.moveTo(by > 0 ? first : last);
      let n = here + by;
      while (n > first && n < last && this.lines().every((line) => line.low[n] == null)) n += by;
      return this.moveTo(n);
    }

    // ---- what is in sight

    look([start, end]) {
      const [earliest, latest] = this.bounds;
      const whole = latest - earliest;
      const long = Math.min(Math.max(end - start, Math.min(LEAST_S, whole)), whole);
      const middle = (start + end) / 2;
      const from = Math.min(Math.max(middle - long / 2, earliest), latest - long);
      this.view = [from, from + long];
      this.plot?.setScale("x", { min: this.view[0], max: this.view[1] });
      this.loadSoon();
    }

    zoom(by) {
      const [start, end] = this.view;
      const about = (this.plot && this.cursorTime()) ?? (start + end) / 2;
      this.look([about - (about - start) * by, about + (end - about) * by]);
    }

    slide(share) {
      const by = (this.view[1] - this.view[0]) * share;
      this.look(this.view.map((end) => end + by));
    }

    selected(u) {
      const { left, width } = u.select;
      if (width <= 0) return;
      const ends = [left, left + width].map((x) => u.posToVal(x, "x"));
      u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
      this.look(ends);
    }

    another(by) {
      const many = this.lines().length || 1;
      this.told = (this.told + by + many) % many;
      this.tell(this.plot.cursor.idx);
    }

    resized() {
      const wide = this.part("plot").clientWidth;
      if (!this.plot || !wide || wide === this.plot.width) return;
      this.plot.setSize({ width: wide, height: this.plot.height });
      this.loadSoon();
    }
  }

  function item(text) {
    const entry = document.createElement("li");
    entry.textContent = text;
    return entry;
  }

  const isWhole = (value) => Math.abs(value - Math.round(value)) < 1e-6;

  // A value between two unknown ones has no line: it is drawn as a dot.
  function alone(values) {
    const found = [];
    values.forEach((one, n) => {
      if (one != null && values[n - 1] == null && values[n + 1] == null) found.push(n);
    });
    return found.length ? found : null;
  }

  for (const root of document.querySelectorAll("[data-live-chart]")) new LiveChart(root);
})();
