// Tries a pairing code, then loads the page anew.
const answer = document.getElementById("answer");
const code = document.getElementById("code");

document.getElementById("pair").addEventListener("submit", async (event) => {
  event.preventDefault();
  answer.textContent = "";
  try {
    const response = await fetch("/pair", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ code: code.value }),
    });
    const told = await response.json();
    if (told.ok) {
      location.replace("/");
      return;
    }
    answer.textContent = told.told;
  } catch (error) {
    answer.textContent = "The computer that serves this page does not answer.";
  }
  code.select();
});
