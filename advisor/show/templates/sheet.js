// Keeps what was ticked and typed on this machine, for this sheet, and writes the typed minutes into the line for the
// record. The page works without it.
(function () {
  var key = "turn-radius sheet " + document.body.dataset.sheet, kept = {}, store = null;
  try { store = window.localStorage; kept = JSON.parse(store.getItem(key)) || {}; } catch (e) { kept = {}; }
  var fields = document.querySelectorAll("input"), code = document.querySelector("code.record"), plain = code.textContent;
  function number(text) { var n = parseFloat(text.replace(",", ".")); return isFinite(n) ? n : null; }
  function record() {
    var sums = {}, words = plain;
    fields.forEach(function (field) {
      var option = field.dataset.option, n = option ? number(field.value) : null;
      if (n !== null) sums[option] = (sums[option] || 0) + n;
    });
    Object.keys(sums).forEach(function (option) {
      words = words.replace("--" + option + " __", "--" + option + " " + +sums[option].toFixed(2));
    });
    code.textContent = words;
  }
  function keep() {
    fields.forEach(function (field) {
      kept[field.name] = field.type === "checkbox" ? field.checked : field.value;
    });
    try { store.setItem(key, JSON.stringify(kept)); } catch (e) { return; }
  }
  function show() {
    fields.forEach(function (field) {
      if (field.type === "checkbox") field.checked = kept[field.name] === true;
      else field.value = typeof kept[field.name] === "string" ? kept[field.name] : "";
    });
    record();
  }
  fields.forEach(function (field) {
    field.addEventListener(field.type === "checkbox" ? "change" : "input", function () { keep(); record(); });
  });
  var afresh = document.querySelector("button");
  afresh.hidden = false;
  afresh.addEventListener("click", function () {
    if (!window.confirm("Clear every tick and figure on this sheet?")) return;
    kept = {}; show(); keep();
  });
  show();
})();
