from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("review.api.urls")),
    path("", include("review.pages.urls")),
]

handler400 = "review.pages.errors.bad_request"
handler403 = "review.pages.errors.forbidden"
handler404 = "review.pages.errors.not_found"
handler500 = "review.pages.errors.server_error"
