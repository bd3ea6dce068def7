"""Words that change while she looks at them, at no more cost than drawing them anew."""

from __future__ import annotations

from textual.content import Content
from textual.visual import VisualType
from textual.widgets import Static


class TextInPlace(Static):
    """A text that has the screen laid out anew only where it needs another size itself."""

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Say ``content`` instead."""
        said = self.content
        if isinstance(content, Content) and isinstance(said, Content) and content.is_same(said):
            return
        super().update(content, layout=False)
        if layout and not self._fits():
            self.refresh(layout=True)

    def _fits(self) -> bool:
        """Whether what it says now takes the room it has; no where none is laid out yet."""
        room, within, screen = self.content_size, self.container_size, self.app.size
        width = self.styles.width
        by_words = width is not None and width.is_auto
        return (
            room.width > 0
            and (not by_words or self.get_content_width(within, screen) == room.width)
            and self.get_content_height(within, screen, room.width) == room.height
        )
