"""What a route may ask of the app: the knowledge it was started with."""

from typing import Annotated

from fastapi import Depends, Request

from knowledge.base import KnowledgeBase


async def base_of_app(request: Request) -> KnowledgeBase:
    """The knowledge base that `create_app` was given."""
    return request.app.state.base


Base = Annotated[KnowledgeBase, Depends(base_of_app)]
