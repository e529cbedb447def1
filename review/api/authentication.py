"""Scripts sign in with `Authorization: Token ...`."""

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.permissions import SAFE_METHODS

from review.crew import tokens


class TokenAuthentication(BaseAuthentication):
    """Raises AuthenticationFailed for a token that does not work, PermissionDenied for a change with one that only
    reads."""

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"token":
            return None
        token = tokens.find(words[1].decode("latin-1")) if len(words) == 2 else None
        if token is None:
            raise exceptions.AuthenticationFailed(
                "This token is not known, is too old or was revoked; make a new one on the page Tokens."
            )
        if request.method not in SAFE_METHODS and token.scope == tokens.Scope.READ:
            raise exceptions.PermissionDenied(
                f"The token “{token.name}” may only look; to change something, make one that may."
            )
        return token.person, token

    def authenticate_header(self, request):
        return "Token"


class InSchema(OpenApiAuthenticationExtension):
    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema):
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": "Token ..."}
