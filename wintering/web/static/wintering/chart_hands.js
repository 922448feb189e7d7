// Keys, buttons and fingers of the live chart.
window.chartHands = (() => {
  const CLOSER = 0.5;
  const APART_PX = 6;

  const actsOf = (chart) => ({
    closer: () => chart.zoom(CLOSER),
    further: () => chart.zoom(1 / CLOSER),
    earlier: () => chart.slide(-0.5),
    later: () => chart.slide(0.5),
    reset: () => chart.look(chart.home),
    all: () => chart.look(chart.bounds),
  });

  function listen(chart) {
    const acts = actsOf(chart);
    const plot = chart.part("plot");
    for (const button of chart.root.querySelectorAll("button[data-act]"))
      button.addEventListener("click", () => acts[button.dataset.act]());
    plot.addEventListener("keydown", (event) => pressed(chart, event, acts));
    // What is pointed at is seen: it is spoken only where keys lead the cursor.
    for (const act of ["pointerdown", "pointermove"])
      plot.addEventListener(act, () => aloud(chart, "off"));
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    dark.addEventListener("change", () => chart.rebuild());
    new ResizeObserver(() => chart.resized()).observe(plot);
  }

  function aloud(chart, how) {
    chart.part("text").setAttribute("aria-live", how);
  }

  function pressed(chart, event, acts) {
    if (!chart.plot || event.ctrlKey || event.metaKey || event.altKey) return;
    const far = event.shiftKey ? 10 : 1;
    const keys = {
      ArrowLeft: () => chart.step(-far),
      ArrowRight: () => chart.step(far),
      ArrowUp: () => chart.another(-1),
      ArrowDown: () => chart.another(1),
      Home: () => chart.moveTo(chart.inSight()[0]),
      End: () => chart.moveTo(chart.inSight()[1]),
      PageUp: acts.earlier,
      PageDown: acts.later,
      "+": acts.closer,
      "=": acts.closer,
      "-": acts.further,
      Escape: acts.reset,
    };
    if (!Object.hasOwn(keys, event.key)) return;
    event.preventDefault();
    aloud(chart, "polite");
    keys[event.key]();
  }

  function touch(chart, over) {
    const fingers = new Map();
    let held = [];
    const at = (event) => event.clientX - over.getBoundingClientRect().left;

    const lifted = (event) => fingers.delete(event.pointerId);
    const touched = (event) => {
      if (event.pointerType !== "touch") return;
      fingers.set(event.pointerId, at(event));
      held = [...fingers.values()].map((x) => chart.plot.posToVal(x, "x"));
      dragged(event);
    };
    // One finger moves the cursor; what two hold stays under them.
    const dragged = (event) => {
      if (!fingers.has(event.pointerId)) return;
      fingers.set(event.pointerId, at(event));
      const xs = [...fingers.values()];
      if (xs.length === 1) chart.plot.setCursor({ left: xs[0], top: over.clientHeight / 2 });
      if (xs.length === 2) spread(chart, over, held, xs);
    };

    over.addEventListener("pointerdown", touched);
    over.addEventListener("pointermove", dragged);
    for (const end of ["pointerup", "pointercancel"]) over.addEventListener(end, lifted);
  }

  function spread(chart, over, held, xs) {
    if (Math.abs(xs[1] - xs[0]) < APART_PX) return;
    const scale = (held[1] - held[0]) / (xs[1] - xs[0]);
    if (scale <= 0) return;
    const start = held[0] - xs[0] * scale;
    chart.look([start, start + over.clientWidth * scale]);
  }

  return { listen, touch };
})();
