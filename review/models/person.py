from django.contrib.auth.models import AbstractUser


class Person(AbstractUser):
    """Somebody who signs in. What they may do is said by their memberships."""

    def __str__(self):
        return self.get_full_name() or self.username
