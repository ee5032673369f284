"""The task sheet: the sums of a practical task, worked out from its dimensions.

A sum is a document {sum, title, note, …} with inputs of its own; lengths are exact numbers in the
sum's ``unit`` or formulas over the dimensions. The geometry is that of ``engine.geometry``; this
package reads the inputs, says the results to a mason, and adds the cautions. Figures are for
setting out and ordering: local codes and licensed practice come first.
"""

from assessments.engine.tasksheet.model import SheetSum
from assessments.engine.tasksheet.sheet import SUMS, sheet_sum, task_sheet

__all__ = ["SUMS", "SheetSum", "sheet_sum", "task_sheet"]
