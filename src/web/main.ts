const lab = document.querySelector('#lab');
if (lab !== null) lab.textContent = 'Sweepwise';
