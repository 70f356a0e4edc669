"""One look for each prototype through the whole notebook."""

from __future__ import annotations

from shotwright.notebook.content import NotebookContent
from shotwright.notebook.palette import Series, series


def looks_of(content: NotebookContent) -> dict[str, Series]:
    """Return the look of each prototype, in the order in which they stand in the project.

    Parameters
    ----------
    content : NotebookContent
        Prototypes, trials and hit probabilities name them.

    Returns
    -------
    dict of str to Series
        By name.
    """
    names = [p.name for p in content.prototypes]
    names += [page.trial.prototype for page in content.trials] + [row.prototype for row in content.hits]
    return {name: series(k) for k, name in enumerate(dict.fromkeys(names))}
