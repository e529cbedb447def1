import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings")

application = get_wsgi_application()

# All pages are loaded now, and stay. Left among what the garbage collector goes through, they would hold up one request
# in some thirty for a tenth of a second.
_ = get_resolver().url_patterns
gc.collect()
gc.freeze()
