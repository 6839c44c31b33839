"""Words of the trade that an answer uses, said plainly."""

from collections.abc import Iterable, Iterator

from knowledge.base import KnowledgeBase
from knowledge.loading.schema import WordRow


def words_used(texts: Iterable[str], base: KnowledgeBase) -> Iterator[WordRow]:
    """The words that occur in some texts, in the order of the table."""
    said = "\n".join(texts).lower()
    return (row for row in base.words.values() if any(word.lower() in said for word in row.used))
