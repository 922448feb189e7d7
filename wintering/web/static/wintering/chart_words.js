// Times and values in words for the live chart, as the pages write them.
window.chartWords = (() => {
  const MINUS = "\u2212";
  const DAY_S = 86400;
  const language = document.documentElement.lang || "en";
  const formats = new Map();

  function parts(second, zone) {
    if (!formats.has(zone))
      formats.set(
        zone,
        new Intl.DateTimeFormat(language, {
          timeZone: zone,
          weekday: "short",
          day: "numeric",
          month: "short",
          year: "numeric",
          hour: "2-digit",
          minute: "2-digit",
          hourCycle: "h23",
        })
      );
    const found = {};
    for (const { type, value } of formats.get(zone).formatToParts(second * 1000))
      found[type] = value;
    return found;
  }

  function day(second, zone, hasYears) {
    const p = parts(second, zone);
    return hasYears ? `${p.weekday} ${p.day} ${p.month} ${p.year}` : `${p.day} ${p.month}`;
  }

  function clock(second, zone) {
    const p = parts(second, zone);
    return `${p.hour}:${p.minute}`;
  }

  // What a column covers: an instant, some hours of a day, or days.
  function column(data, index) {
    const start = data.first + index * data.step;
    const end = start + data.step;
    const on = `${day(start, data.zone, data.has_years)}, ${clock(start, data.zone)}`;
    if (data.step <= 60) return on;
    const until = data.step < DAY_S ? "" : `${day(end, data.zone, data.has_years)}, `;
    return `${on} to ${until}${clock(end, data.zone)}`;
  }

  function number(value, decimals) {
    const text = value.toFixed(decimals);
    return Number(text) === 0 ? text.replace("-", "") : text.replace("-", MINUS);
  }

  function value(line, index, unit) {
    if (line.low[index] == null) return "not known";
    const low = number(line.low[index], line.decimals);
    const high = number(line.high[index], line.decimals);
    return `${low === high ? low : `${low} to ${high}`}\u00a0${unit}`;
  }

  // Names along the time axis: months, days or hours, as far apart as they stand.
  function axis(data, splits, apart) {
    return splits.map((second) => {
      const p = parts(second, data.zone);
      if (apart >= 20 * DAY_S)
        return data.has_years && p.month === "Jan" ? `${p.month} ${p.year}` : p.month;
      if (apart >= DAY_S) return `${p.day} ${p.month}`;
      return p.hour === "00" && p.minute === "00"
        ? `${p.weekday} ${p.day} ${p.month}`
        : `${p.hour}:${p.minute}`;
    });
  }

  return { axis, column, number, value };
})();
