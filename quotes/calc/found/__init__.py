"""What was found when the roof was open, what does it take of the pot, and what does the job come to so far?

`figures` adds a job up by tax class; `notes` draws the one pot; `counted` settles counted work down.
"""

from quotes.calc.found.figures import JobFigures, figures_of, largest_share_of_parts

__all__ = ["JobFigures", "figures_of", "largest_share_of_parts"]
