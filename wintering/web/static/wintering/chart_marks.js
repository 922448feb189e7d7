// What stands behind and beside the lines of the live chart: nights, the safe band,
// hatches, small words on the axis, and each line's own name.
window.chartMarks = (() => {
  const HATCH_PX = 7;
  const LETTER_PX = 13;

  const token = (name) =>
    getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  // A rectangle between two times, cut to the plot; canvas pixels.
  function stretch(u, start, end) {
    const { left, top, width, height } = u.bbox;
    const from = Math.max(left, u.valToPos(start, "x", true));
    const to = Math.min(left + width, u.valToPos(end, "x", true));
    return to > from ? [from, top, Math.max(1, to - from), height] : null;
  }

  function nights(u, data) {
    u.ctx.fillStyle = token("--ink");
    u.ctx.globalAlpha = 0.07;
    for (const [down, up] of data.nights) {
      const box = stretch(u, down, up);
      if (box) u.ctx.fillRect(...box);
    }
    u.ctx.globalAlpha = 1;
  }

  function bands(u, data) {
    const { left, width } = u.bbox;
    for (const band of data.bands) {
      const top = u.valToPos(band.high, "y", true);
      const foot = u.valToPos(band.low, "y", true);
      u.ctx.fillStyle = u.ctx.strokeStyle = token("--moss");
      u.ctx.globalAlpha = 0.14;
      u.ctx.fillRect(left, top, width, foot - top);
      u.ctx.globalAlpha = 1;
      u.ctx.lineWidth = devicePixelRatio;
      u.ctx.setLineDash([]);
      for (const y of [top, foot]) line(u.ctx, left, y, left + width, y);
    }
  }

  function bandNames(u, data) {
    const middle = u.bbox.left + u.bbox.width / 2;
    for (const band of data.bands) {
      const top = u.valToPos(band.high, "y", true) + LETTER_PX * devicePixelRatio;
      words(u, band.name, middle, top, "center");
    }
  }

  function line(ctx, x1, y1, x2, y2) {
    ctx.beginPath();
    ctx.moveTo(x1, y1);
    ctx.lineTo(x2, y2);
    ctx.stroke();
  }

  function words(u, text, x, y, align, colour = token("--ink-soft")) {
    const { ctx } = u;
    ctx.save();
    ctx.font = `${LETTER_PX * devicePixelRatio}px system-ui, sans-serif`;
    ctx.textAlign = align;
    ctx.textBaseline = "middle";
    ctx.lineJoin = "round";
    ctx.lineWidth = 4 * devicePixelRatio;
    ctx.setLineDash([]);
    ctx.strokeStyle = token("--paper");
    ctx.strokeText(text, x, y);
    ctx.fillStyle = colour;
    ctx.fillText(text, x, y);
    ctx.restore();
  }

  function hatches(u, data, isShown) {
    const { ctx } = u;
    ctx.save();
    ctx.strokeStyle = token("--ink-soft");
    ctx.lineWidth = devicePixelRatio;
    ctx.setLineDash([]);
    for (const aside of data.asides) {
      const box = isShown(aside.key) && stretch(u, aside.start, aside.end);
      if (box) hatch(ctx, box);
    }
    ctx.restore();
  }

  function hatch(ctx, [left, top, width, height]) {
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, top, width, height);
    ctx.clip();
    ctx.beginPath();
    for (let x = left - height; x < left + width; x += HATCH_PX * devicePixelRatio) {
      ctx.moveTo(x, top + height);
      ctx.lineTo(x + height, top);
    }
    ctx.stroke();
    ctx.restore();
  }

  // Small words on two rows above the axis; what finds no room keeps its tick.
  function events(u, data) {
    const { ctx, bbox } = u;
    const ends = [-Infinity, -Infinity];
    ctx.save();
    ctx.font = `${LETTER_PX * devicePixelRatio}px system-ui, sans-serif`;
    for (const event of data.events) {
      const x = u.valToPos(event.at, "x", true);
      if (x < bbox.left || x > bbox.left + bbox.width) continue;
      tick(u, x);
      const wide = ctx.measureText(event.word).width + 8 * devicePixelRatio;
      const from = Math.min(x, bbox.left + bbox.width - wide);
      const row = ends.findIndex((end) => from > end);
      if (row < 0) continue;
      ends[row] = from + wide;
      const foot = bbox.top + bbox.height - (10 + 16 * row) * devicePixelRatio;
      words(u, event.word, from + 3 * devicePixelRatio, foot, "left");
    }
    ctx.restore();
  }

  function tick(u, x) {
    u.ctx.strokeStyle = token("--ink-soft");
    u.ctx.lineWidth = devicePixelRatio;
    u.ctx.setLineDash([2 * devicePixelRatio, 4 * devicePixelRatio]);
    line(u.ctx, x, u.bbox.top, x, u.bbox.top + u.bbox.height);
  }

  // Each line's name beside its last known column in sight, moved apart by height.
  function names(u, lines, looks) {
    const last = u.bbox.left + u.bbox.width + 6 * devicePixelRatio;
    const spots = lines
      .map((one) => ({ one, y: height(u, one) }))
      .filter((spot) => spot.y !== null)
      .sort((a, b) => a.y - b.y);
    // More names than there is room for lie closer, but in their order.
    const step = Math.min((LETTER_PX + 1) * devicePixelRatio, u.bbox.height / spots.length);
    let free = u.bbox.top;
    for (const spot of spots) {
      spot.y = Math.max(spot.y, free);
      free = spot.y + step;
    }
    const over = free - step - (u.bbox.top + u.bbox.height);
    const room = u.ctx.canvas.width - last;
    for (const { one, y } of spots)
      words(u, cut(u.ctx, one.name, room), last, over > 0 ? y - over : y, "left", looks.get(one.key).stroke);
  }

  // As much of a name as there is room for; the list below the chart has all of it.
  function cut(ctx, name, room) {
    ctx.save();
    ctx.font = `${LETTER_PX * devicePixelRatio}px system-ui, sans-serif`;
    let [text, kept] = [name, name.length];
    while (kept > 1 && ctx.measureText(text).width > room) {
      kept -= 1;
      text = `${name.slice(0, kept)}…`;
    }
    ctx.restore();
    return text;
  }

  // How much of a page's width the names of lines take, at most so much.
  function roomFor(lines, most) {
    const ctx = document.createElement("canvas").getContext("2d");
    ctx.font = `${LETTER_PX}px system-ui, sans-serif`;
    const widest = Math.max(...lines.map((one) => ctx.measureText(one.name).width));
    return Math.min(most, Math.ceil(widest) + 10);
  }

  function height(u, one) {
    const [from, to] = u.series[0].idxs;
    for (let n = to; n >= from; n -= 1)
      if (one.low[n] != null) return u.valToPos((one.low[n] + one.high[n]) / 2, "y", true);
    return null;
  }

  return { bandNames, bands, events, hatches, names, nights, roomFor, token };
})();
