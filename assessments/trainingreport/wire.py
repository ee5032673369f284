"""What the worker and the process that makes a PDF say to each other; needs no Django.

The folder of a job holds ``SOURCE``, the page, ``JOB``, a JSON object {paper, pictures: [{file,
number, caption}]} in the order of the report, and the photographs. The process prints the number
of steps done, a line each, or ``TOLD`` and why it makes nothing; it leaves ``MADE``.
"""

JOB, SOURCE, MADE, PICTURES = "job.json", "source.html", "report.pdf", "pictures"
TOLD = "Refused: "
