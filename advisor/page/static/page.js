// The page works without this. It renews the answer while a field is changed, ticks rows without a new page, and keeps
// the address in step with both.
(function () {
  "use strict";
  var late = 250, running = null;

  function address(form, button) {
    var asked = new URLSearchParams(new FormData(form));
    if (button && button.name) asked.append(button.name, button.value);
    Array.from(asked.keys()).forEach(function (name) { if (!asked.get(name)) asked.delete(name); });
    return form.getAttribute("action") + "?" + asked.toString();
  }

  function renew(form, button) {
    var place = document.getElementById(form.dataset.renews), where = address(form, button), focus = button && button.value;
    if (running) running.abort();
    running = new AbortController();
    place.classList.add("busy");
    return fetch(where, { signal: running.signal, credentials: "same-origin" }).then(function (reply) {
      return reply.text().then(function (text) {
        var made = new DOMParser().parseFromString(text, "text/html"), fresh = made.getElementById(form.dataset.renews);
        if (!fresh) fresh = made.querySelector(".wrong");
        if (!fresh) { location.assign(where); return; }
        if (fresh.id) place.replaceWith(fresh); else { var old = place.querySelector(".wrong"); if (old) old.remove(); place.prepend(fresh); place.classList.remove("busy"); }
        var same = made.querySelector(".same"), mine = document.querySelector(".same");
        if (same && mine) mine.replaceWith(same);
        document.title = made.title || document.title;
        if (reply.ok) history.replaceState(null, "", reply.url.replace(location.origin, "").replace(/#.*/, ""));
        if (focus) { var again = document.querySelector('button[name="tick"][value="' + focus + '"]'); if (again) again.focus(); }
        wire();
      });
    }).catch(function (problem) { if (problem.name !== "AbortError") location.assign(where); });
  }

  function wire() {
    document.querySelectorAll("form[data-renews]").forEach(function (form) {
      if (form.dataset.wired) return;
      form.dataset.wired = "yes";
      var timer = null;
      form.addEventListener("input", function () { clearTimeout(timer); timer = setTimeout(function () { renew(form); }, late); });
      form.addEventListener("submit", function (event) { event.preventDefault(); clearTimeout(timer); renew(form, event.submitter); });
    });
  }

  // Empty fields are left out of addresses.
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.method !== "get" || form.dataset.renews) return;
    form.querySelectorAll("input, select").forEach(function (field) { if (!field.value) field.disabled = true; });
    setTimeout(function () { form.querySelectorAll("input, select").forEach(function (field) { field.disabled = false; }); }, 0);
  });
  wire();
})();
