// A closer look at a curve: plotly takes the drawing's place when somebody asks for it.
// Without this script the buttons stay hidden and the drawing stands.
"use strict";

(() => {
  const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  // Planned is dashed green, recorded solid ink: told apart without colour.
  const lines = () => ({
    planned: { color: token("--glass"), width: 2.25, dash: "dash" },
    earlier: { color: token("--glass"), width: 1.25, dash: "dot" },
    recorded: { color: token("--ink"), width: 2.25, dash: "solid" },
  });

  const dressed = (figure) => {
    const styles = lines();
    for (const trace of figure.data) {
      if (styles[trace.meta]) trace.line = styles[trace.meta];
      else if (trace.meta === "moments") trace.marker = { color: token("--sheet"), size: 10, symbol: "diamond", line: { color: token("--ink"), width: 1.5 } };
      else trace.marker = { color: token("--ink"), size: 8 };
    }
    for (const shape of figure.layout.shapes) {
      const stretch = shape.name === "stretch";
      shape.fillcolor = stretch ? "rgba(0,0,0,0)" : token(shape.name === "anneal" ? "--anneal" : "--process");
      shape.line = stretch ? { width: 1, dash: "dot", color: token("--rule-strong") } : { width: 0 };
      if (shape.label) shape.label.font = { color: token("--ink-soft") };
    }
    const axis = { gridcolor: token("--rule"), zeroline: false, color: token("--ink-soft"), fixedrange: false };
    Object.assign(figure.layout, {
      paper_bgcolor: "rgba(0,0,0,0)",
      plot_bgcolor: "rgba(0,0,0,0)",
      font: { family: "system-ui, sans-serif", size: 14, color: token("--ink") },
      margin: { l: 56, r: 12, t: 36, b: 72 },
      hovermode: "closest",
      hoverdistance: 80,
      modebar: { bgcolor: "rgba(0,0,0,0)", color: token("--ink-soft"), activecolor: token("--glass") },
      dragmode: "zoom",
      legend: { orientation: "h", y: -0.14, yanchor: "top" },
      hoverlabel: { bgcolor: token("--sheet"), font: { color: token("--ink") } },
      xaxis: { ...axis, tickangle: 0, nticks: innerWidth < 700 ? 4 : 9, ...figure.layout.xaxis },
      yaxis: { ...axis, ...figure.layout.yaxis },
    });
    return figure;
  };

  let loading;
  const plotly = (address) => {
    loading ??= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = address;
      script.onload = () => resolve(window.Plotly);
      script.onerror = () => {
        loading = undefined;
        script.remove();
        reject(new Error("The chart did not load."));
      };
      document.head.append(script);
    });
    return loading;
  };

  const figureAt = async (address) => {
    const answer = await fetch(address, { credentials: "same-origin" });
    if (!answer.ok) throw new Error(`The curve did not come: ${answer.status}.`);
    return answer.json();
  };

  const config = { responsive: true, modeBarButtonsToRemove: ["select2d", "lasso2d"], displaylogo: false, showSendToCloud: false, plotlyServerURL: "" };

  const open = async (button, figure) => {
    const [library, curve] = await Promise.all([plotly(button.dataset.script), figureAt(button.dataset.chart)]);
    const place = document.createElement("div");
    place.className = "chart";
    figure.querySelector(".drawing").after(place);
    figure.querySelector(".drawing").hidden = true;
    const { data, layout } = dressed(curve);
    await library.newPlot(place, data, layout, config);
    followZoom(library, place, button.dataset.chart);
  };

  // Where the axis is a clock, s from its left edge: the clock may have changed on the way.
  const secondsAt = (value, clock) => {
    if (!clock.length) return Number(value) * 3600;
    const moment = (text) => Date.parse(`${text.replace(" ", "T")}Z`);
    const piece = clock.findLast(([, from]) => moment(from) <= moment(value)) ?? clock[0];
    return piece[0] + (moment(value) - moment(piece[1])) / 1000;
  };

  // A closer look asks for the readings that thinning left out; the last one asked for counts.
  const followZoom = (library, place, address) => {
    const index = place.data.findIndex((trace) => trace.meta === "recorded");
    if (index < 0) return;
    let asked = 0;
    place.on("plotly_relayout", async (change) => {
      if (!Object.keys(change).some((key) => key.startsWith("xaxis."))) return;
      const asking = ++asked;
      const { range, autorange } = place.layout.xaxis;
      const clock = place.layout.meta.clock;
      const [from, to] = range.map((value) => secondsAt(value, clock));
      const query = autorange ? "" : `?from=${Math.floor(from)}&to=${Math.ceil(to)}`;
      try {
        const answer = await figureAt(address + query);
        if (asking !== asked || !place.isConnected) return;
        const { x, y, customdata } = query ? answer : answer.data.find((trace) => trace.meta === "recorded");
        await library.restyle(place, { x: [x], y: [y], customdata: [customdata] }, [index]);
      } catch {
        // The thinned line stands.
      }
    });
  };

  const close = (figure) => {
    window.Plotly.purge(figure.querySelector(".chart"));
    figure.querySelector(".chart").remove();
    figure.querySelector(".drawing").hidden = false;
  };

  for (const button of document.querySelectorAll("button[data-chart]")) {
    const figure = document.getElementById(button.dataset.drawing);
    const words = button.textContent;
    button.hidden = false;
    button.addEventListener("click", async () => {
      if (figure.querySelector(".chart")) {
        close(figure);
        button.textContent = words;
        return;
      }
      button.disabled = true;
      try {
        await open(button, figure);
        button.textContent = button.dataset.back;
      } catch {
        figure.querySelector(".chart")?.remove();
        figure.querySelector(".drawing").hidden = false;
        button.textContent = "It did not load; try again";
      }
      button.disabled = false;
    });
  }
})();
